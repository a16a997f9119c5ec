"""The command line. This module stays light: commands are loaded when they are called."""


def main() -> None:
    """Run the command line."""
    from glasswork.cli.app import app

    app()
