"""From pixels to outlines: photo, scale mark, sheet colour, edges.

One photo through the code:

1. `imaging.photo.read_photo`: decoded whole or refused, upright, RGB bytes; `overview`: the same, reduced.
2. `imaging.marks.find_scale`: the marker frame (`marks/frame.py`) or a plain sheet by its edges (`marks/paper.py`),
   both fitted by `imaging.camera.fit_camera` with lens distortion and priors; covariance kept. Marks that lie beside
   the part (`card.py`, `coin.py`, `taps.py`, `grid.py`) are looked for only where `--mark` names them; a scan
   (`scan.py`) has its resolution tag. Frame and paper are compared (`paper_check.py`), and so are tag and frame. A
   print that nobody measured is told by its paper (`print_check.py`), or by a card or coins in its field
   (`print_card.py`, `print_coin.py`).
3. `imaging.sheet_colour.sheet_distance`: the bare sheet modelled from the guard band; distance of each pixel from it.
4. `imaging.segment.find_regions`: each part by the threshold whose outline runs along the sharpest edges; `closer.py`
   looks again at small ones, at half the reduction.
5. `imaging.trace.trace_ring`: the outermost sharp edge at full size, then half level in linear light on raw pixels
   (`edge.py`); shadows by `contrast.py`, seen walls by `walls.py`, what a
   deep hole hides of its own rim by `hidden_edge.py`.
6. `imaging.edge_ring.to_millimetres` (height rule), `imaging.budget.measure_rings` (shares; those of pose and height by
   `slopes.py`, lengths by `outline_length.py`), `geometry.outline.Outline`; `imaging.checks.part` flags, asks or
   refuses; `imaging.stop_off` sees regions of another colour, and `service.places` numbers and answers whatever is
   asked.
7. `geometry.surface.plated_surface`; `service.measure`; `records.measure_json`.
"""
