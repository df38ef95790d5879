//! Weights of steel deck.
