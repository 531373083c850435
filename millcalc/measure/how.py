"""The procedures in words, step by step, with a picture of where things stand."""

from __future__ import annotations

from typing import Final

BEFORE = (
    "Unplug the spindle unless the step says that it turns. Eye protection when it turns. Write down date, "
    "machine state, and what is fitted."
)

HOW: Final[dict[str, str]] = {
    "stiffness": """
    What you need: luggage scale, cord, dial indicator on a stand, a steel rod of 8 mm. 20 minutes.

          gantry  =====[ Z ]=====
                        | |
                       [col]                 o---->  scale, pulls level
        dial ]------->  |rod|---------cord---'
        stand            |
     ____|_______________._____________________  bed

    1. Clamp the rod with 20 mm standing out. Motors on, so that they hold. Spindle off.
    2. Stand the dial on the bed (never on the gantry), its foot against the rod, opposite to the pull, at the
       height where the cutter would cut. Measure the drop: lowest bearing of the Z carriage to the rod's end.
    3. Cord round the rod at the same height. Pull level along X: 2, 4, 6, 8, 10 kg, reading the dial each
       time; go back down the same way and read again. The first pull only takes up the play.
    4. Pull along Y in the same way. For play, also push (a pull the other way, written with a minus).
    5. Lower or raise Z and repeat, at the best with drops that differ by a third or more. Middle of the
       gantry: the softest place.
    6. Z: bathroom scale with a wood block under the nose, dial on the spindle body, jog down 0.02 mm a time.

    Then: millcalc measure stiffness --machine NAME --rod 8 --rod-stickout 20 \\
            --pull "x@120: 2=0.026 4=0.051 6=0.077 8=0.102 6=0.08 4=0.055 2=0.03" --pull "y@120: ..."
    Example: 10 kg (98 N) that move the tip by 0.12 mm are 0.82 N/um; a cut of 40 N then bends it by 0.05 mm.
    """,
    "runout": """
    With a dial: foot on a straight pin 5 mm under the nut; turn the spindle slowly by hand, read every quarter
    turn. Take the pin out, turn it by a quarter in the collet, again.

             [nut]
              |#|<------[dial
              |#|   turn by hand, read 4 times

    Then: millcalc measure runout --machine NAME --dial "0 0.012 0.02 0.008" --dial "0 0.01 0.018 0.009"

    Without a dial: four light slots (0.5 mm deep) in board or acrylic, the one-flute cutter turned by a
    quarter in the collet between them; width by calliper.
    Then: millcalc measure runout --machine NAME --flutes 1 --slot 3.20 --slot 3.23 --slot 3.25 --slot 3.22
    """,
    "feed": """
    Drive 500 mm along the axis at the feed in question, in the air; time it from start to stop, and measure
    the way with a tape, not from the screen.

        |<-------------- tape: 500 mm -------------->|
        start (watch on)                  stop (watch off)

    Then: millcalc measure feed --machine NAME --axis x --distance 500 --time 30.4 --commanded 1000
    With --highest the result is written as the highest feed of that axis.
    """,
    "acceleration": """
    Short moves: a program of 200 moves there and back of 2 mm at a feed far above what is reached; time all.
    Then: millcalc measure acceleration --machine NAME --axis x --distance 2 --moves 200 --time 40 --asked 3000

    Long moves: 20 moves of 200 mm at a feed that is reached.
    Then: millcalc measure acceleration --machine NAME --axis x --distance 200 --moves 20 --time 84 --feed 3000
    In the air, nothing in the way, hand on the stop.
    """,
    "thrust": """
    Hook the scale to the bed and the spindle's nose; jog slowly (100 mm/min) against it and read the pull at
    which the motor stalls or ticks. Three times for each axis. Then home again: position is lost.

        bed |o--[scale]--cord--[nose]  --> jog this way

    Fingers out of the way: the axis jumps back when it stalls.
    Then: millcalc measure thrust --machine NAME --x "31 kg" --x "29 kg" --x "30 kg" --y ...
    """,
    "speed": """
    Sound: record five seconds at each dial mark with the phone; in the spectrum take the distance between
    neighbouring peaks: one turn. 10000 rpm is 167 Hz, 18000 is 300 Hz, 24000 is 400 Hz.
    Feed marks: a shallow slot in plastic at a known high feed; count 20 marks with a ruler in a photograph.
    Counter: reflecting tape and an optical counter, standing aside.
    The spindle turns in this one: glasses on, nothing loose, cutter out where you can.

    Then: millcalc measure speed --machine NAME --tone 1=167 --tone 3=300 --count 5=26100 \\
            --marks "2=3000 mm/min over 5 mm with 20"
    In the cut: --tone 3=300 --cutting 285 shows how far the speed falls.
    """,
    "frequency": """
    Cutter: cutter in the collet, spindle off and unplugged. Phone 10 cm beside it, recorder set to WAV. Tap the
    shank with the handle of a small screwdriver, along X, five times, a second apart. Then along Y.
    Frame: tap the spindle body with a soft mallet.

        tap -->  |#|      ((( phone, WAV
                 |#|

    Then: millcalc measure frequency --machine NAME --axis x --wav tap.wav --cutter flat-6mm-1f --stickout 22
    or, for the frame: --what frame --band "20 200"
    A drop by more than 10 % against the last time means that something has come loose.
    """,
}
