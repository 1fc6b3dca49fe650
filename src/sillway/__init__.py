"""sillway: will this rider, in this chair, ride in this van? Every answer proved, or it says not."""
