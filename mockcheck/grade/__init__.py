"""Grading a class: reviews and a rubric become points, each traceable to a finding or a rule."""
