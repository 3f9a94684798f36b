"""The written record of a job: its file, its code, its report."""
