"""What happens on each address: fetch, act, answer. One file for each part of the work."""
