//! The real program in a real editor without a screen.
