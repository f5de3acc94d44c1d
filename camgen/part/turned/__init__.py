"""Parts turned from the bar: arbors, stems, screws, rings, and what is cut round them."""
