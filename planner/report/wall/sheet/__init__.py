"""Sheets of marks, and how they become SVG and PDF."""
