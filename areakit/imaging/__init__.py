"""From pixels to outlines: photo, scale mark, sheet colour, edges."""
