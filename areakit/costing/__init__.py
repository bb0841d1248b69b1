"""What a job costs, and whether somebody else's figures agree."""
