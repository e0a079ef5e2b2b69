"""What one stage's result becomes for the next: ready parts, plates, the weekend."""
