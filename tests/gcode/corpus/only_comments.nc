(nothing here yet)
; to be written
