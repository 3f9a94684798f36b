"""Words and meaning, ears and voice."""
