"""Speeds, feeds, forces, deflection, time and metal; every limit named.

``planner`` answers for every kind of cutter; ``chips``, ``forces`` and ``stiffness`` hold the
formulas with their sources, ``milling``, ``drilling``, ``form_cut`` and ``circles`` what each way
of cutting makes of them. ``explain`` puts an answer into words, ``region`` shows how far each limit
is and what would help, ``findings`` is what the workshop knows better. ``time`` and ``metal`` are
the accounts of a run.
"""
