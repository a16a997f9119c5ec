"""The window's members become a frame: layers, fit, tolerance, cut paths, nested sheets."""
