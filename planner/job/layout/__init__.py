"""Walls and panel systems as people describe them: forms, loader and the frozen description."""
