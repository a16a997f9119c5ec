"""Frozen facts that the stages hand to each other. No stage's code lives here."""
