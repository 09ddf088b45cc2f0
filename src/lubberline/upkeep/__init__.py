"""The aircraft: tells the effect of the Earth from the faults of the instrument in the pilots' log."""
