"""Strips are laid out, their readings become a printer profile."""
