"""sillway: will this rider, in this chair, ride in this van? Proved, or it says that it is not."""
