"""Tell a makeup-effects designer whether a digitally sculpted appliance can be built and worn."""
