"""The pages: the shop and the rooms in a browser. Nothing is computed here."""
