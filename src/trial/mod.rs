//! Check strips out, results in: strips laid into a prescription, and what they say afterwards.
