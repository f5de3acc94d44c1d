"""Program text taken apart into lines and words."""
