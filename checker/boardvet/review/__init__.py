"""Rules, their runner and what they answered; called, it reviews (see boardvet.api)."""

from boardvet._callable import call_as_function

call_as_function(__name__)
