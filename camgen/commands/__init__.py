"""One module per command; each is thin: words in, words out."""
