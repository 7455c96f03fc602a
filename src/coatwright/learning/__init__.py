"""Learning a dog's coat from what is measured at the table: priors, likelihoods, and the update after each visit."""
