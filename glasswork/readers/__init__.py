"""Bytes become models: drawings, palettes, profiles, readings. No file is opened here."""
