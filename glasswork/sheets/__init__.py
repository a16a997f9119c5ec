"""Pages: where films, templates and the guide lie on paper. Mirroring and offsets exist here."""
