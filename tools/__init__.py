"""Scripts that make data files or check them; nothing in the package imports them."""
