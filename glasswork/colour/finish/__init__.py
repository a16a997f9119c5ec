"""Glass that is not flat paint: surfaces by their trade words, as modulation of density.

`fields` grows each surface in millimetres, `cut` gives every pane its own piece of it, `tone`
turns density steps into device values whose mean stays the pane's target, and `pictures` puts the
panes together into one picture a film.
"""
