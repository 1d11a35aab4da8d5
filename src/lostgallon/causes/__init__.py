"""Causes, conditions and checks; the joint inference; the account."""
