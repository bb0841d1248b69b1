"""Every check that stands between a photo and a wrong area, in one place.

Each is a small function that names what it looks at, from where on it speaks (a constant of its module) and the study
that set that figure. It refuses by raising, or returns what must be said beside the number.

=========  ====================================================================
module     looks at
=========  ====================================================================
``photo``  the file and the picture: compression, blur by motion, mirroring
``sheet``  the marker frame, its print and the camera: focal length, flatness
``field``  the rim of the field: whether it is the sheet at all
``part``   the part and its outline, glare along it included
``ground`` the ground beside a part and in its holes: paint, tape, mirrored sheet
``slits``  places too narrow for an outline
``joint``  a line across a part that may be the joint of two
``unread_frame`` plain paper that is a printed sheet whose markers cannot be read
=========  ====================================================================

The study is ``calibration/studies/silent.py``: scenes of every kind of trap, and how many pass unseen.
"""
