"""Every number and closed word list of the search, each with its reason.

The browser gets the ones it needs from the exported data, so they stand nowhere else.
"""

from __future__ import annotations


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# --- the index ---------------------------------------------------------------------------------------------------------

K1 = 2.0
"""BM25F saturation. A word that several callers use is worth more than one that a single phrase holds; 2 to 3 right answers in a
hundred better than 0.8 on the tuning half."""
B = 0.3
"""BM25F length normalisation. An entry with more phrases is better kept, not less relevant."""
BOOSTS = {"title": 3.0, "phrases": 2.5, "description": 1.2, "part": 1.0, "causes": 0.8}
"""Field weights. Title and callers' phrases carry most; causes' names are the weakest evidence."""
IMPACT_MAX = 255
"""The largest impact of an index; an impact fits a byte."""
ZIPF_RARE, ZIPF_COMMON, BACKGROUND_FLOOR = 3.0, 7.5, 0.25
"""Background rarity: weight 1 up to the first Zipf frequency, falling in a straight line to the floor at the second. "the" is
7.7, "pump" 4.3."""

# --- the query ---------------------------------------------------------------------------------------------------------

UNIT = 64
"""Query weights and factors are whole 64ths, so that every sum is exact in any language."""
CONCEPT_WEIGHT = 44
"""A concept counts two thirds of the word itself: it is right more often, and says less. With half, one right answer in a hundred fewer
on the tuning half."""
PART_WORD = 48
"""A word that only names a thing keeps 48/64 beside its concept: otherwise "power pack" finds what happens there to leak, whatever is
said of it."""
CORRECTED_1, CORRECTED_2 = 48, 34
"""Weight of a correction at edit distance 1 and 2."""
SOUNDS_ALIKE = 8
"""Added when word and correction have the same phonetic key."""
OTHER_START = 8
"""Taken off when they begin with different letters: people rarely miss the first."""
LESS_LIKELY = 24
"""Taken off every correction but the best: a rare word among them ("ded": died) must not outweigh the likely one (dead)."""
PREFIX_WEIGHT = 40
"""Weight of a word that the last, unfinished word of the query may become."""
PREFIX_OF_KNOWN = 12
"""The same when the word is complete as it stands: it most likely is the word."""
PART_BONUS = 38
"""A part named in the query that the entry is about: up to 38/64 = 0.6 on top; no penalty otherwise."""
OPPOSITE = 46
"""An entry of the opposite sense keeps 46/64, about 70 per cent. With 51/64 several must-be-first pairs came out the wrong way
round; with 40 a sense that was misread costs more than it gives."""
AGREES = 76
"""An entry of the very sense that is said of a thing it is about counts 76/64. Three more must-be-first pairs come first; from 67 to
80 the tuning half hardly tells the difference."""
MAX_CHARACTERS = 2_000
"""Longer queries are cut. A caller's longest story has some 400."""
MAX_TOKENS = 120
"""Words beyond this are not read, for the same reason."""
SHOWN_FROM = 16
"""Entries with less than 16/64, a quarter, of the best score share only small words with the query and are not shown."""
KNOWN_FROM = 40
"""A word read with less than 40/64 is a guess (two edits, and it sounds otherwise): the manual does not know it."""
ENOUGH = 10_200
"""A query with words that the manual does not know is about something else when its best score, times the share of words that it
knows, is below this: five eighths of one word of the greatest impact. `benchmarks/search.py` counts both kinds of mistake."""
SHORTEST_STRANGE = 4
"""An unfinished word is not called unknown before it has so many letters."""
RESULTS = 10
"""Symptoms shown at most."""
OTHERS = 6
"""Causes, checks, parts and test points shown at most."""

# --- misspelt and unfinished words -------------------------------------------------------------------------------------

SHORTEST_CORRECTED = 3
"""Words of one or two letters are never corrected."""
TWO_EDITS_FROM = 5
"""Two edits are allowed from five letters on; shorter words would turn into anything."""
CORRECTIONS = 3
"""At most so many corrections of one word."""
PREFIXES = 8
"""At most so many ways to finish a word."""
SHORTEST_PREFIX = 2
"""One letter says nothing yet."""
GUARD_ZIPF = 3.8
"""Words at least this common in English (about 10,000) are never corrected, even when the manual does not know them."""
MISSPELT = _words(
    "abd agian allways batery becuase bouth didnt doesnt dont foto hte im ive ther tho thru til untill wont"
)
"""Common in English text, and yet misspelt: the guard does not protect them."""

# --- words of English that mean something to the ranking ----------------------------------------------------------------

STOP = _words(
    "a an are as at be been being but by can could did do does doing for from had has have he her hers him his i if"
    " is it its just me my of our ours she so some that the their them then there these they this those to too us was"
    " we were what when where which while who why will with would you your yours am also any because get got much now"
    " very really please thanks hello hi"
)
"""Left out of the index. The words of direction and negation (not, no, in, out, off, on, up, down, by itself) are not among
them."""
EMPTY = STOP | _words(
    "about after again against all always and another around away back before best better between both during each even"
    " ever every few find first give go going good great having here how however into know last let like little look"
    " looking lot made make many may maybe might more most must need new next no not off old on one only or other out over"
    " own put right said same say see set should since someone something still such sure take than thing things think"
    " thought through today two until up use used want way well who whose work s"
)
"""Of these, and of words too short to be corrected, a manual need not know any to be about what is asked."""
CONTRACTIONS = {
    "cannot": "can not",
    "cant": "can not",
    "wont": "will not",
    "dont": "do not",
    "doesnt": "does not",
    "didnt": "did not",
    "isnt": "is not",
    "wasnt": "was not",
    "arent": "are not",
    "werent": "were not",
    "hasnt": "has not",
    "havent": "have not",
    "couldnt": "could not",
    "wouldnt": "would not",
    "shouldnt": "should not",
    "aint": "is not",
    "im": "i am",
    "ive": "i have",
    "theres": "there is",
    "thats": "that is",
    "whats": "what is",
    "dn": "down",
    "shld": "should",
    "nite": "night",
    "nites": "nights",
    "overnite": "overnight",
    "tonite": "tonight",
    "lite": "light",
    "lites": "lights",
    "fone": "phone",
    "alot": "a lot",
    "thier": "their",
    "wich": "which",
}
"""Written without an apostrophe, shortened, or as they sound and so far off that another word is nearer ("nite": note), as callers'
words often are. With an apostrophe, the rule in `tokens` covers them. No entry begins a word that somebody may just be typing."""

NEGATIONS = _words(
    "not no never nothing none nobody cannot unable refuse refuses refused refusing fail fails failed failing without neither nor"
)
"""Turn the sense of the movement after them."""
STUCK = _words("stuck stays stay stayed staying remains remain jammed seized sticks frozen")
"""Before a word of direction: it does not go the other way. "Stuck down" is "does not come up"."""
UNASKED = _words("itself themselves own alone unasked unprompted")
"""By itself, on its own."""
SLOW = _words("slow slowly slower sluggish sluggishly")
FAST = _words("fast quickly faster quick suddenly")
MOTION = _words(
    "go goes going went gone come comes came coming move moves moved moving creep creeps creeping drop drops dropping"
    " sink sinks sinking slide slides sliding fall falls falling turn turns switch switches"
)
"""Before a word of direction they make it a movement; otherwise it is a state."""
HOLD = _words(
    "is are was were be been being stays stay stayed staying stuck remains remain keep keeps kept light lights lit"
)
"""Before *in* or *on* these, like the words of motion, let it speak of the equipment and not of a place ("is on", not "on
site")."""
KEYS = _words("press presses pressed pressing hold holds held holding key button push pushed pushing")
"""After these, raise and lower are names of keys, not movements."""
BREAKS = _words("but and although though when while after before because then if with so until since")
"""End the reach of a negation."""
CONTRAST = _words("but")
"""What stands before it is the setting, what stands after it the complaint."""
CIRCUMSTANCE = _words("when while with until after although though before because since")
"""Open a circumstance: its first word of direction counts only when nothing else is said."""
UP_IDIOMS = _words("set sets setting hook hooked put puts end ends pick picks flash flashes speed speeds back hung")
"""Before *up* these make another verb of it ("setting up")."""
DETERMINERS = _words("the a an my our your his her their its this that these those each every one two any some of")
"""A particle before one of these says where, not which way ("on the road")."""
WAYS = {
    "extend": "extend",
    "extends": "extend",
    "extending": "extend",
    "lower": "extend",
    "lowers": "extend",
    "lowering": "extend",
    "down": "extend",
    "out": "extend",
    "retract": "retract",
    "retracts": "retract",
    "retracting": "retract",
    "raise": "retract",
    "raises": "retract",
    "raising": "retract",
    "up": "retract",
    "in": "retract",
    "on": "on",
    "start": "on",
    "starts": "on",
    "run": "on",
    "runs": "on",
    "running": "on",
    "sound": "on",
    "sounds": "on",
    "beep": "on",
    "beeps": "on",
    "lit": "on",
    "off": "off",
    "stop": "off",
    "stops": "off",
    "dark": "off",
    "dead": "off",
    "silent": "off",
    "quiet": "off",
}
"""Which way a word points unless the thesaurus says otherwise for the thing named (a lamp that goes out is off)."""
VERB_BEFORE = NEGATIONS | _words("to will can could would")
"""*Lower* is a movement only after one of these; otherwise it compares ("a bit lower")."""
PARTICLES = frozenset(("in", "on", "up", "down", "out", "off"))
DIRECTION_WORDS = frozenset((*PARTICLES, "go", "goes", "not", "no"))
"""Refused as members of a concept: they belong to every movement."""
OPPOSITE_STATE = {"extend": "retract", "retract": "extend", "on": "off", "off": "on"}
REACH = 5
"""Words back to a negation that still governs a word of direction."""
