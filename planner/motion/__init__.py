"""Moving the head: how long a stretch of toolpath takes under a printer's limits."""
