"""Lines and pipes: what can be laid, as it is sold."""

from xlfuncs.tables.columns import section, table

LINES = table(
    "Lines",
    "One row a kind of drip line, as its data sheet gives it: flow of one emitter, or flow per"
    " length, always at its rated pressure.",
    begins="all",
)

PIPES = table("Pipes", "One row a kind of pipe for mains, branches and manifolds.", begins="all")

LINE_LAYOUT = section(
    "The bed to lay lines in",
    "One layout that stays in place and suits all that will grow in the bed over the years.",
)
