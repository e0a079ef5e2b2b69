"""Telling the plan: terminal, JSON, HTML, 3MF, CSV, calendar. Nothing is computed here."""
