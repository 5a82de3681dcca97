"""The demo room: an invented workshop whose wood is grown and sawn by a model, so its truth is known.

In: seeds and a few choices (species, ring width, knots, lean). Out: logs (`wood.grow_log`), sawn pairs
(`saw.saw_pair`), pictures of faces and ends with exact truth (`saw.face`, `saw.end`), photographs of them
on a bench (`phone.photograph`). All of it is invented; nothing here is a measured fact.
"""
