"""One output format a file; reports read a review and compute nothing."""
