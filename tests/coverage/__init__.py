"""Coverage of published brews: the kept table and the page of the documentation."""
