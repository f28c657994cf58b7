"""The roadmap: where a cable may lie, as points off the sheets and short hops between them.

`sample` places nodes, `spaces` says which space each belongs to, `connect` joins them,
`build` puts them together for a job.
"""
