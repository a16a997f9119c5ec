"""The bench page: the whole job in a browser, served on this machine."""
