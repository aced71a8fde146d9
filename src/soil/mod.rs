//! Published soil science as pure functions: numbers in, numbers out, each with its source, units and range of validity.
