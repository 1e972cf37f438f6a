"""How hypothesis behaves here: a busy machine is no fault of the rules, so examples have no time limit."""

from hypothesis import settings

settings.register_profile("domain", deadline=None)
settings.load_profile("domain")
