"""Reference marks that give a photo its scale."""
