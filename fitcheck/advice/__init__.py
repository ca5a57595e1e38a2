"""The family question: which coupling families suit a drive, and which fastening suits its shafts."""
