"""How the tables of one version become those of the next."""
