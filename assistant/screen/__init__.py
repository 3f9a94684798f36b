"""What is seen and tapped: a pure view of the session (`panel`), drawn by Textual or printed line by line."""
