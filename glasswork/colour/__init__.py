"""Targets become device values for every film: spectra, halftone, stack, light, reach.

Models: [yule-nielsen1951], [hersch2015] for one film; [stokes1862] for films that lie on each
other. Nothing here opens a file.
"""
