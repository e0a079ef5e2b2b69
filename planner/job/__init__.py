"""The job: wanted parts, printers, spools, attendance; read from YAML, frozen and checked."""
