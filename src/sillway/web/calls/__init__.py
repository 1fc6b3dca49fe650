"""The call sheet: filled while talking, answering as it grows."""
