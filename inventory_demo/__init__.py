"""An invented shop: shelf, dampers, bikes, riders and jobs, to try things on."""
