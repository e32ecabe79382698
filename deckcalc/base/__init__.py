"""What every subject is made of: fields of the job folder, and runs, checks and notes in order."""
