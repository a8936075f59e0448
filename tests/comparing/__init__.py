"""How well findings are known again after an edit, against truth that the editing itself keeps."""
