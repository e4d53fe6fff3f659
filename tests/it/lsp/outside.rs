//! The real program over its standard streams, driven by a client library that others wrote.
