"""Commands about answers of before: calculated again, and two outputs of a batch side by side."""
