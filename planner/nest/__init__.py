"""Filling plates: irregular shapes on beds with keep-outs, with a lower bound."""
