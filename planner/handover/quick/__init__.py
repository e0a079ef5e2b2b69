"""Filament, hours, plates and money of a whole wall, without packing or a calendar."""
