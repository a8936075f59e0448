"""`python -m mockcheck` is the command line."""

from mockcheck.cli import main

main()
