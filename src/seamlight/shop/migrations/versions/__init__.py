"""The steps, oldest first; a step that was released never changes."""
