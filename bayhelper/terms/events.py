"""Facts about a job, in the past tense, gathered from their subjects: all that is ever recorded.

A class's version goes up when its fields change their meaning or their names.
"""

from bayhelper.terms.fact import *
from bayhelper.terms.subjects.correction import *
from bayhelper.terms.subjects.job import *
from bayhelper.terms.subjects.laying import *
from bayhelper.terms.subjects.looking import *
from bayhelper.terms.subjects.notes import *
from bayhelper.terms.subjects.supplies import *
from bayhelper.terms.subjects.surfaces import *
from bayhelper.terms.subjects.talk import *
from bayhelper.terms.subjects.wash import *
from bayhelper.terms.subjects.wiping import *
