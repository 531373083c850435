"""What each finding of the reader means: families TEXT, WORD, ARC, CYCLE, COMP, FLOW and PARAM."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.findings import Severity
from millcalc.tuning import MAX_FINDINGS_PER_CODE

_STOP, _WARN, _NOTE = Severity.STOP, Severity.WARNING, Severity.NOTE


@dataclass(frozen=True, slots=True)
class CodeDoc:
    """The documentation of one finding.

    Attributes
    ----------
    code : str
        ``FAMILY-NN``.
    severity : Severity
        Severity unless the finding itself says otherwise.
    title : str
        A few words.
    flags : str
        What is reported.
    why : str
        Why it matters.
    wrong, right : str
        A line that raises it and one that does not.
    limits : str
        What the check cannot see.
    source : str
        Where the rule comes from.
    cap : int
        How many are listed one by one [-].
    """

    code: str
    severity: Severity
    title: str
    flags: str
    why: str
    wrong: str
    right: str
    limits: str
    source: str
    cap: int = MAX_FINDINGS_PER_CODE


_N = "NISTIR 6556, section "
_COMMON = "common practice, no source"
_NOT_RUN = (
    "The line is not executed in the reading; axes it names count as unknown until they are commanded again."
)

_ALL = (
    CodeDoc("TEXT-01", _STOP, "empty program", "A file without any block.",
        "There is nothing to run or to check.", "(only a comment)", "G21 G90 G0 Z5", "", _COMMON),
    CodeDoc("TEXT-02", _STOP, "not a program", "A file that is not text, or whose lines are mostly not G-code.",
        "Sent to a machine such a file does anything or nothing.", "the bytes of a picture",
        "a text file of blocks", "The share of control bytes in the first 64 KiB decides.", _COMMON),
    CodeDoc("TEXT-03", _STOP, "line is not G-code", "Prose, HTML, merge marks, quoted mail, tables of numbers.",
        "A controller stops at such a line, or reads its letters as words.", "<<<<<<< HEAD", "(a comment)",
        "Neighbouring lines of one kind are reported once. " + _NOT_RUN, _COMMON),
    CodeDoc("TEXT-04", _WARN, "line too long", "A line longer than the controller class reads.",
        "The rest of the line may be lost, or the program refused in mid-cut.", "(a very long comment ...)",
        "(short)", "Lines above 64 KiB are not read at all.", _N + "3.3; other lengths from memory"),
    CodeDoc("TEXT-05", _STOP, "unexpected character", "A character that has no meaning where it stands.",
        "Controllers refuse it or skip it and whatever follows.", "G1 X10 @", "G1 X10", _NOT_RUN, _N + "3.3"),
    CodeDoc("TEXT-06", _STOP, "look-alike character",
        "A typographic dash, blank or quote, or another letter outside ASCII.",
        "It looks like the right character but is another one; a minus may be lost.", "G1 X−5", "G1 X-5",
        _NOT_RUN, _COMMON),
    CodeDoc("TEXT-07", _WARN, "character outside ASCII in a comment", "A byte above 127 in a comment.",
        "Some firmware takes such bytes for immediate commands, even inside comments.", "(Fräser 3 mm)",
        "(Fraeser 3 mm)", "Only with a profile that says so.", "from memory"),
    CodeDoc("TEXT-08", _WARN, "NUL bytes", "Bytes of value zero in the text.",
        "They are left by a damaged or unfinished copy; text may be missing there.", "G1 X\\0\\0\\0", "G1 X10",
        "The bytes are read as blanks.", _COMMON),
    CodeDoc("TEXT-09", _STOP, "comment not closed", "A ( without ) in the same line.",
        "Controllers refuse the line or swallow what follows.", "G1 X10 (rough", "G1 X10 (rough)", _NOT_RUN,
        _N + "3.3.4"),
    CodeDoc("TEXT-10", _STOP, "comment in a comment", "A ( inside a comment.",
        "The comment ends at the first ), so the rest is read as words.", "(drill (3 mm) holes)",
        "(drill 3 mm holes)", _NOT_RUN, _N + "3.3.4"),
    CodeDoc("TEXT-11", _STOP, "stray )", "A ) that closes nothing.", "Controllers refuse the line.", "G1 X10 )",
        "G1 X10", _NOT_RUN, _N + "3.3.4"),
    CodeDoc("TEXT-12", _STOP, "slash inside a line", "A / that neither stands first nor divides.",
        "Block delete works from the start of a line only.", "G1 /X10", "/G1 X10", _NOT_RUN, _N + "3.3"),
    CodeDoc("TEXT-13", _WARN, "lower case", "Lower-case words with a controller class that reads capitals.",
        "The controller may refuse the program.", "g1 x10", "G1 X10", "Only with a profile that says so.",
        "from memory"),
    CodeDoc("TEXT-14", _WARN, "tab", "A tab with a controller class that does not read it.",
        "The controller may refuse the program.", "G1<tab>X10", "G1 X10", "Only with a profile that says so.",
        "from memory"),
    CodeDoc("TEXT-15", _WARN, "comment with ;", "A ; comment with a controller class that does not know it.",
        "The comment's letters would be read as words, or the line refused.", "G1 X10 ; rough",
        "G1 X10 (rough)", "Only with a profile that says so.", _N + "3.3.4 and appendix E"),
    CodeDoc("TEXT-16", _WARN, "command character in a comment", "One of ! ? ~ in a comment.",
        "Some firmware acts on these at once wherever they stand: hold, status, resume.", "(ready?)", "(ready)",
        "Only with a profile that says so.", "from memory"),
    CodeDoc("TEXT-17", _WARN, "percent lines",
        "A first % line without a second, a later one without a first, or one refused.",
        "The file may be cut off, or its end is not where it seems.", "% at the end only", "% first and last",
        "", _N + "3.1"),
    CodeDoc("TEXT-18", _WARN, "text after the end", "Blocks after M2, M30 or the closing %.",
        "They are not run: a second program may have been glued on, or the end stands too early.",
        "M30 then G1 X5", "M30 last", "Subprograms that were called do not count.", _N + "3.1"),
    CodeDoc("TEXT-19", _WARN, "encoding",
        "UTF-16 text, or a byte-order mark the controller class does not read.",
        "The controller would read other characters than you see.", "saved as Unicode", "saved as plain text",
        "Columns then count bytes of the text as converted.", _COMMON),
    CodeDoc("TEXT-20", _WARN, "no end of program", "Neither M2, M30 nor a closing % line.",
        "The file may be cut off; spindle and coolant are left as they are.", "G1 X10 as last line",
        "M30 as last line", "Only with a profile that wants an end.", _N + "3.1"),
    CodeDoc("WORD-01", _STOP, "letter is no word",
        "A letter that is not a word of the language or of the profile.",
        "Controllers refuse it; the move it belongs to is lost.", "G1 X10 E0.5", "G1 X10", _NOT_RUN,
        _N + "3.3.2, table 3"),
    CodeDoc("WORD-02", _STOP, "letter without a number", "A word letter that no number follows.",
        "The number was lost, or the line was cut off.", "G1 X Y5", "G1 X0 Y5", _NOT_RUN, _N + "3.3.2"),
    CodeDoc("WORD-03", _STOP, "malformed number",
        "Two points, a comma, an exponent, a lone sign, a letter O for a zero.",
        "Controllers refuse it or read another number than was meant.", "G1 X1,5", "G1 X1.5", _NOT_RUN,
        _N + "3.3.2.1"),
    CodeDoc("WORD-04", _STOP, "word twice in a line", "The same letter twice (G, M apart).",
        "Only one can count; lines may have run together.", "G1 X1 X2", "G1 X2", _NOT_RUN, _N + "3.3.5"),
    CodeDoc("WORD-05", _STOP, "codes that exclude each other", "Two codes of one modal group in a line.",
        "Which one counts differs between controllers.", "G0 G1 X5", "G1 X5", _NOT_RUN, _N + "3.3.5, table 4"),
    CodeDoc("WORD-06", _STOP, "unknown code", "A G or M code the reader does not know.",
        "What it does is not checked; the controller may refuse it.", "G70", "G20",
        "A line with an unknown G code is not executed; unknown M codes leave the rest of their line in force.",
        _N + "3.5, 3.6"),
    CodeDoc("WORD-07", _STOP, "not accepted by the controller class", "A code or construct the profile lacks.",
        "The machine refuses it in mid-program, or skips the line and goes on.", "G81 X5 Y5 Z-3 R1",
        "G0 X5 Y5, G1 Z-3", "The reading goes on as if it were accepted.", "the profile's notes"),
    CodeDoc("WORD-08", _STOP, "not a whole number", "A broken number where a whole one is needed.",
        "Controllers refuse it or cut it off.", "T1.5", "T1", "Within 0.0001 of a whole number is accepted.",
        _N + "3.3.2.1"),
    CodeDoc("WORD-09", _STOP, "number out of range",
        "A negative feed, speed, tool or dwell, or an absurdly large number.",
        "Controllers refuse it or do something unforeseen.", "F-100", "F100", _NOT_RUN, _N + "3.7, 4.3.5.1"),
    CodeDoc("WORD-10", _STOP, "word without use",
        "A word that nothing in its line uses, such as I without an arc.",
        "A code is probably missing: the move is then another one than was meant.", "G1 X5 I2", "G2 X5 I2",
        "The rest of the line is executed.", "from memory"),
    CodeDoc("WORD-11", _STOP, "axis words without a motion code",
        "X, Y, Z before any motion code or after G80.", "The machine moves in an unforeseen mode, or refuses.",
        "G80 X5", "G0 X5", _NOT_RUN, _N + "3.5.15"),
    CodeDoc("WORD-12", _STOP, "needed word missing", "A code without a word it cannot do without.",
        "Controllers refuse it or use an old number.", "G4", "G4 P1", _NOT_RUN, _N + "3.5"),
    CodeDoc("WORD-13", _STOP, "two codes want the axis words",
        "A motion code beside G10, G28, G30, G52 or G92 with axis words.",
        "Which one gets them differs between controllers.", "G1 G92 X0", "G92 X0", _NOT_RUN, _N + "3.4"),
    CodeDoc("WORD-14", _STOP, "line number",
        "An N word that is not first, not digits only, or has too many digits.",
        "Two lines may have run together.", "G1 X5 N20", "N20 G1 X5", "", _N + "3.3.1"),
    CodeDoc("WORD-15", _STOP, "too many M words", "More M words in a line than the controller class takes.",
        "Some are refused or lost.", "M3 M8 M48 M6 M0", "two lines", "", _N + "3.3.5"),
    CodeDoc("WORD-16", _WARN, "not checked",
        "A word that is understood but outside what is checked: rotary axes, G96.",
        "What it moves or sets must be checked at the machine.", "G1 A90", "G1 X90", "", "our own scope",
        cap=20),
    CodeDoc("WORD-17", _STOP, "G53 not possible", "G53 without G0 or G1, without axes, or under G91.",
        "The machine refuses it, or moves somewhere else.", "G91 G53 G0 Z0", "G90 G53 G0 Z0", _NOT_RUN,
        _N + "3.5.12"),
    CodeDoc("WORD-18", _STOP, "no F under inverse time", "A feed move without F under G93.",
        "Every such move needs its own F: its time is not known.", "G93 G1 X5", "G93 G1 X5 F2", _NOT_RUN,
        _N + "3.5.19"),
    CodeDoc("WORD-19", _STOP, "probing not possible",
        "A probing move without a linear axis, with a rotary one, under G93, or too short.",
        "The machine refuses it.", "G38.2 A5", "G38.2 Z-10 F50", "", _N + "3.5.9.1"),
    CodeDoc("WORD-20", _STOP, "coordinates changed by rotation or scaling", "G16, G51, G51.1 or G68.",
        "From here on the numbers mean other places, which the reading does not follow.", "G68 X0 Y0 R30",
        "plain coordinates",
        "Positions are marked unknown until the code is cancelled and the axis commanded again.",
        "our own scope"),
    CodeDoc("WORD-21", _NOTE, "many decimals", "More decimals than the controller class keeps.",
        "The number is cut off; arcs may then be refused.", "X1.23456789", "X1.2346",
        "Only with a profile that says so.", "from memory"),
    CodeDoc("ARC-01", _STOP, "arc without an end point", "No end coordinate in the plane of the arc.",
        "It is not clear where the arc ends.", "G2 R5", "G2 X10 R5",
        "A full circle with centre words needs none in most classes.", _N + "3.5.3"),
    CodeDoc("ARC-02", _STOP, "arc without a centre", "Neither centre words nor R.",
        "Often a straight move follows an arc and G1 was forgotten.", "G2 X10 Y5", "G2 X10 Y5 I5 J0", _NOT_RUN,
        _N + "3.5.3.2"),
    CodeDoc("ARC-03", _STOP, "arc does not close", "Start and end lie at different distances from the centre.",
        "Controllers refuse such an arc, or cut a wrong one.", "G2 X10 Y0 I4 J0", "G2 X10 Y0 I5 J0",
        "Differences that rounding explains are ARC-04.", _N + "3.5.3.2"),
    CodeDoc("ARC-04", _NOTE, "arc closes within rounding only",
        "A difference above 0.002 mm that short decimals explain.", "A strict controller refuses it.",
        "G2 X1.41 Y1.41 I2", "G2 X1.414 Y1.414 I2", "Up to 0.005 mm or 0.1 % of the radius.",
        _N + "3.5.3.2; the wider limit: common practice, no source"),
    CodeDoc("ARC-05", _STOP, "R arc ends where it starts", "An arc by radius with its end on its start.",
        "Infinitely many circles fit.", "G2 X0 Y0 R5", "G2 I5", _NOT_RUN, _N + "3.5.3.1"),
    CodeDoc("ARC-06", _STOP, "radius too small", "An end point more than twice the radius away.",
        "No circle of that radius reaches it.", "G2 X20 R5", "G2 X20 R10", _NOT_RUN, "from memory; geometry"),
    CodeDoc("ARC-07", _STOP, "R and centre words together", "An arc with R and I, J or K.",
        "Which one counts differs between controllers.", "G2 X10 R5 I5", "G2 X10 I5", _NOT_RUN, "from memory"),
    CodeDoc("ARC-08", _STOP, "centre word outside the plane", "K in G17, J in G18 or I in G19.",
        "The plane is another one than the program's writer thought.", "G17 G2 X10 K5", "G17 G2 X10 I5",
        _NOT_RUN, "from memory"),
    CodeDoc("ARC-09", _STOP, "radius zero", "A centre on the start or end, or R0.", "There is no such arc.",
        "G2 X10 R0", "G2 X10 R5", _NOT_RUN, "from memory"),
    CodeDoc("ARC-10", _NOTE, "arc by radius is ill-conditioned",
        "An R arc near a half circle or near a full one.",
        "A rounding in the last digit moves its centre by far more than that digit.", "G2 X19.998 R10",
        "G2 X19.998 I9.999", "An exact half circle is not reported.", _N + "3.5.3.1"),
    CodeDoc("ARC-11", _WARN, "arc from an unknown place", "An arc whose start the program never set.",
        "Its circle and whether it closes cannot be checked.", "G2 X10 I5 as first move", "G0 X0 Y0 before it",
        "", "our own scope", cap=20),
    CodeDoc("CYCLE-01", _STOP, "cycle without axis words", "A canned cycle line without X, Y and Z.",
        "Controllers refuse it, or drill where they stand.", "G81 R2", "G81 X5 Y5 Z-3 R2", _NOT_RUN,
        _N + "3.5.16"),
    CodeDoc("CYCLE-02", _STOP, "cycle without depth", "No depth on the first line of a cycle.",
        "The depth would be an old one.", "G81 X5 R2", "G81 X5 Z-3 R2", _NOT_RUN, _N + "3.5.16"),
    CodeDoc("CYCLE-03", _STOP, "retract level below the bottom", "R lower than the depth.",
        "Controllers refuse it.", "G81 Z-1 R-2", "G81 Z-1 R2", "The hole is not executed in the reading.",
        _N + "3.5.16"),
    CodeDoc("CYCLE-04", _STOP, "cycle without retract level", "R was never given.",
        "The tool would stop at an old level, or crash.", "G81 X5 Z-3", "G81 X5 Z-3 R2", _NOT_RUN,
        "from memory"),
    CodeDoc("CYCLE-05", _STOP, "repeats", "L that is not a whole number from 1 on.", "Controllers refuse it.",
        "G81 X5 Z-3 R2 L0", "G81 X5 Z-3 R2 L2", _NOT_RUN, _N + "3.5.16"),
    CodeDoc("CYCLE-06", _STOP, "dwell of a cycle", "P missing or negative.", "Controllers refuse it.",
        "G82 X5 Z-3 R2", "G82 X5 Z-3 R2 P0.5", _NOT_RUN, _N + "3.5.16"),
    CodeDoc("CYCLE-07", _STOP, "peck depth", "Q missing, zero or negative.",
        "The cycle would never reach its depth.", "G83 X5 Z-3 R2", "G83 X5 Z-3 R2 Q1", _NOT_RUN,
        _N + "3.5.16.4"),
    CodeDoc("CYCLE-08", _STOP, "back boring without offsets", "G87 without I, J or K.",
        "The tool would enter without being moved aside.", "G87 X5 Z-3 R2", "G87 X5 Z-3 R2 I1 J0 K-1", _NOT_RUN,
        _N + "3.5.16.8"),
    CodeDoc("CYCLE-09", _STOP, "cycle with a rotary word", "A, B or C in a cycle line.",
        "Controllers refuse it.", "G81 X5 A90 Z-3 R2", "A90 in a line of its own", _NOT_RUN, _N + "3.5.16"),
    CodeDoc("CYCLE-10", _STOP, "cycle under inverse time", "A cycle under G93.", "Controllers refuse it.",
        "G93 G81 X5 Z-3 R2", "G94 G81 X5 Z-3 R2", _NOT_RUN, _N + "3.5.16"),
    CodeDoc("CYCLE-11", _STOP, "spindle not turning as the cycle needs",
        "G84 without M3; G86, G87, G88 with the spindle stopped.",
        "The tap or bar breaks, or the controller refuses.", "M5 G84 Z-3 R2", "M3 S300 before it", _NOT_RUN,
        _N + "3.5.16.5, 3.5.16.7; G87, G88 from memory"),
    CodeDoc("COMP-01", _STOP, "not allowed under compensation",
        "An offset, unit, plane or home code, a cycle or a probe under G41/G42.", "Controllers refuse it.",
        "G41 then G28", "G40 before G28", "The line is executed in the reading.", _N + "3.5.10, appendix B.5"),
    CodeDoc("COMP-02", _STOP, "compensation switched on twice", "G41 or G42 while one is on.",
        "Controllers refuse it.", "G41 then G42", "G40 between them", "", "NISTIR 6556, appendix B.5"),
    CodeDoc("COMP-03", _STOP, "compensation outside the XY plane", "G41 or G42 with G18 or G19.",
        "Controllers refuse it.", "G18 G41", "G17 G41", "", _N + "3.5.10"),
    CodeDoc("COMP-04", _STOP, "bad cutter number", "D that is negative or not whole.", "Controllers refuse it.",
        "G41 D-1", "G41 D1", _NOT_RUN, _N + "3.5.10"),
    CodeDoc("COMP-05", _STOP, "inside arc smaller than the cutter",
        "An arc on the compensated side with a radius not above the cutter's.",
        "The cutter does not fit: it gouges or the controller refuses.", "radius 2, cutter 6 mm",
        "radius 4, cutter 6 mm", "Needs the cutter's diameter.", "NISTIR 6556, appendix B.5"),
    CodeDoc("COMP-06", _STOP, "concave corner under compensation",
        "A corner towards the compensated side sharper than the cutter.",
        "The cutter cannot reach the corner without gouging.", "two lines meeting at 90 degrees inside",
        "a fillet larger than the cutter", "Looks at neighbouring motions only.", "NISTIR 6556, appendix B.5"),
    CodeDoc("FLOW-01", _STOP, "subprogram not in the file", "A call of a subprogram that is not there.",
        "Nothing of it was checked.", "M98 P100 without O100", "O100 ... M99 in the file",
        "Other files are not searched.", _COMMON),
    CodeDoc("FLOW-02", _STOP, "program without end", "A loop followed more often than any job needs.",
        "The program would run for ever.", "o1 while [1]", "o1 while [#1 LT 5]",
        "The limits are MAX_LOOP_JUMPS and MAX_LOOP_BLOCKS.", "our own limit"),
    CodeDoc("FLOW-03", _STOP, "calls nested too deep", "Subprograms calling each other without end.",
        "The controller stops, or hangs.", "O1 that calls O1", "a loop", "The limit is MAX_CALL_DEPTH.",
        "our own limit"),
    CodeDoc("FLOW-04", _STOP, "too many motions", "More motions than are kept in memory.",
        "What follows was not checked.", "L1000000 around a large part", "several programs",
        "The limit is MAX_MOTIONS.", "our own limit"),
    CodeDoc("FLOW-05", _STOP, "control statements that do not match",
        "An end without a beginning, a missing condition, a missing end.", "Which lines run cannot be told.",
        "o1 endif alone", "o1 if [..] ... o1 endif", "", _COMMON),
    CodeDoc("FLOW-06", _STOP, "main program starts again", "M99 outside a subprogram.",
        "The machine repeats the part without end.", "M99 as last line", "M30 as last line",
        "The reading ends there.", "from memory"),
    CodeDoc("FLOW-07", _WARN, "branch depends on the machine", "A condition on a value only the machine knows.",
        "Which branch runs is decided at the machine; only one was checked.", "o1 if [#5063 LT 0]",
        "fixed numbers", "", "our own scope"),
    CodeDoc("FLOW-08", _NOTE, "subprogram never called", "A subprogram in the file that no call names.",
        "Its lines were not checked.", "o1 sub ... o1 endsub", "o1 call", "", "our own scope"),
    CodeDoc("FLOW-10", _STOP, "return to another line", "M99 with P.",
        "The lines that follow are others than those checked.", "M99 P50", "M99", "", "from memory"),
    CodeDoc("FLOW-11", _STOP, "macro statement not followed", "IF ... GOTO, WHILE ... DO, GOTO, END.",
        "The lines are read as if the statement were not there.", "IF [#1 GT 5] GOTO 10", "o1 if [#1 GT 5]", "",
        "our own scope"),
    CodeDoc("PARAM-01", _STOP, "parameter number", "A # number that is not whole or outside 1 to 5399.",
        "There is no such parameter.", "#0=5", "#1=5", _NOT_RUN, _N + "3.3.2.2"),
    CodeDoc("PARAM-02", _STOP, "parameter without =", "A # that stands alone in a line.",
        "Either a letter or the = is missing.", "#3 5", "#3=5", _NOT_RUN, _N + "3.3.3"),
    CodeDoc("PARAM-03", _STOP, "malformed expression", "Brackets, operations or functions that do not fit.",
        "The value cannot be told.", "X[1+2", "X[1+2]", _NOT_RUN, _N + "3.3.2.3"),
    CodeDoc("PARAM-04", _STOP, "unknown function", "A name before a bracket that is no function.",
        "The value cannot be told.", "X asim[0.5]", "X asin[0.5]", _NOT_RUN, _N + "3.3.2.4"),
    CodeDoc("PARAM-05", _STOP, "no value", "Division by zero, the root of a negative number and the like.",
        "Controllers stop there.", "X[1/0]", "X[1/2]", _NOT_RUN, "from memory"),
    CodeDoc("PARAM-06", _WARN, "parameter never set", "A parameter that is read before the program sets it.",
        "The machine uses whatever an earlier program left there.", "G1 X#5", "#5=10 before it",
        "Zero is assumed.", _N + "3.2.1"),
    CodeDoc("PARAM-08", _WARN, "machine parameter written", "A setting of #5161 to #5390.",
        "Homes and offsets change without a code that says so.", "#5221=10", "G10 L2 P1 X10",
        "The effect is not followed.", _N + "3.2.1"),
    CodeDoc("PARAM-10", _WARN, "sign before a bracket", "A sign before a bracket, parameter or function.",
        "The report's grammar has signs on numbers only.", "X-[3]", "X[0-3]",
        "Only with a profile that says so.", "NISTIR 6556, appendix E"),
)  # fmt: skip

CODES: dict[str, CodeDoc] = {doc.code: doc for doc in _ALL}
"""The documentation of every finding of the reader, by code."""
