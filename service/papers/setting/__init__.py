"""Setting a paper: from told facts to a PDF, its letters, codes and times."""
