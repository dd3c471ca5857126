"""The HTML page: composing, viewing, drawing."""
