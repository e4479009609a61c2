"""What finished batches taught of a rig and of its owner's taste, and what that does to the next plan."""
