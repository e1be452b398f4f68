"""The landowner's month: gather, figures, pictures, pages."""
