"""What is told of a proved job, on sheet, report and terminal, and whether all say the same."""
