"""What a file says and what players would do with it, as records; no loading, no judgement."""
