"""Many jobs at once: gathered from their files into two tables, asked, and shown."""
