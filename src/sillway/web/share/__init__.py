"""Links by which somebody without an account measures a chair at home and sends it in."""
