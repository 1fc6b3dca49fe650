"""What people are shown: drawings, sheets, the answer in words and as JSON."""
