"""The few things areakit does, shared by Python, the command line and the web: one request in, one result out."""
