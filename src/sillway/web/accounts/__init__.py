"""Who works here: accounts, sign-in, second factor, sessions, invitations."""
