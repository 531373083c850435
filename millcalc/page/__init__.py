"""The local web page: the whole job without the terminal, served by this machine to itself and to the phone beside it.

Takes forms of a browser, asks the same functions as the command line, and shows the same result models; nothing that
the program computes is computed in the browser. Gives HTML made here, and one small script a page. ``guard`` decides
who is answered, ``sessions`` who is known, ``place`` where jobs lie, ``bench`` runs checks in a process of their own.
May import every room but ``cli``; only ``cli`` imports it.
"""
