"""An invented studio that goes through the whole job with the product's own services. Nobody in it is real."""
