//! Simulated growers with known truth, and the demo.
