//! Concrete volumes, weights, reinforcement, orders and trucks.
