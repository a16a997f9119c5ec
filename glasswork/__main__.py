"""`python -m glasswork` runs the command line."""

from glasswork.cli import main

main()
