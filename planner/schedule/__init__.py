"""Plates on printers inside attendance, with spools and a lower bound."""
