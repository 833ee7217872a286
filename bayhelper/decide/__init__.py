"""Command or deadline in, events and effects out: the rules of the job, without I/O or clocks."""
