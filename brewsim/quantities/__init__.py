"""What a number with a unit is: read, converted, written. It knows no recipe."""
