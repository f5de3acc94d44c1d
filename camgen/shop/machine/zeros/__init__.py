"""How zeros are set by what is touched."""
