Dear workshop,

please find attached the program for the plate. It runs in nine minutes.

Kind regards
