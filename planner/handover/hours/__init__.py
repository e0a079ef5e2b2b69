"""Plates made for the hours: what lies on each and when it runs, chosen together."""
