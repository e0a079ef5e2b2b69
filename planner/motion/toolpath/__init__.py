"""Reading toolpath files (G-code): moves, time, filament and extents, in one streaming pass."""
