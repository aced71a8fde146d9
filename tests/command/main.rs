//! The program as a user runs it, on the samples and on bad input.
