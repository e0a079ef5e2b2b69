"""What if: a few changes to a job, each planned like the job itself, side by side."""
