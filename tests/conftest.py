"""What all tests share: properties are not timed, since speed belongs in bench/."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
