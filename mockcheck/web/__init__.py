"""The local page: drop a file, correct the guesses, read the review; nothing leaves the machine."""
