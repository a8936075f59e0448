"""One check a file; files with a leading underscore are machinery."""
