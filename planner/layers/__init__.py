"""Laying a posed part in layers: lengths, volumes and seconds per layer and feature."""
