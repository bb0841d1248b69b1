"""Python's door to areakit: what ``import areakit`` offers, one module a step of the work.

:data:`areakit.NAMES` says which name comes from which module here; each is loaded when it is first asked for. A verb
takes text as on the command line, or pint quantities of :data:`areakit.ureg`; geometry goes in and out as shapely
polygons in millimetres. Each answer prints itself in a line, shows itself in a notebook, and gives by ``to_json()``
what the command of the same name prints with ``--json``.
"""
