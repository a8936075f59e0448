"""How often the reviews are right: every figure of reports/accuracy.md is measured here."""
