"""What the job folder says of the patches: sections, and the tables of the survey."""
