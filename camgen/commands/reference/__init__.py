"""Commands that tell what there is: guides, words, materials, cutters, schemas."""
