"""What to do with what was found: at which tempo, with how much rehearsal; no checks."""
