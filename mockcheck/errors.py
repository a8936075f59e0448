"""What a user can get wrong, or be handed broken, as exceptions that read as help.

Each message says what is wrong, where, and what to do. Nobody but `cli` turns one into
an exit code, and none is ever shown with a traceback.
"""

from __future__ import annotations


class UserError(Exception):
    """Something only the user can put right; the text is shown as it is."""


class UnreadableInput(UserError):
    """A file that holds no music we can read (exit code 3)."""


class BadBrief(UserError):
    """A brief, option or parameter that cannot be used (exit code 2)."""
