"""Meshes: read, put right or refused, posed on the plate, cut at any height."""
