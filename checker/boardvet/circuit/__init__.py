"""What a netlist means, as frozen views; called, it returns a circuit (see boardvet.api)."""

from boardvet._callable import call_as_function

call_as_function(__name__)
