"""Keeps an account of the lost fuel: what a vehicle used then, what it uses now, and why."""

__version__ = "0.1.0"
