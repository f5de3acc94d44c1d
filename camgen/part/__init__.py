"""What the finished part is: its words in a job file, and the features that follow from them."""
