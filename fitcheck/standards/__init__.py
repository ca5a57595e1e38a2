"""Published values as data files, each row with its source, and the look-ups over them."""
