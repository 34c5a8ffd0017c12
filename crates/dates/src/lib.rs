//! Dates as vague as memory: EDTF levels 0 and 1, computed with as intervals.
