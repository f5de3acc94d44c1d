"""What several commands share: how things are asked and told at a terminal."""
