"""From uncertain inputs to intervals."""
