"""The pages of the docs that are written from the program itself each time the site is built."""
