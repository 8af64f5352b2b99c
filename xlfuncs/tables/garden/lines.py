"""Lines and pipes: what can be laid, as it is sold."""

from xlfuncs.tables.columns import section, table

LINES = table("Lines")
PIPES = table("Pipes")
LINE_LAYOUT = section("The bed to lay lines in")
