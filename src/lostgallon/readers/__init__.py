"""Files from outside: case file, fill-ups, recorded drives. One file here per outside format."""
