"""The paper that pictures are drawn on: boards in millimetres, keys, colours, strips."""
