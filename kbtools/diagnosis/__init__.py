"""From answers to the next action: posterior, costs, policy, chart and rehearsal, on numbers alone."""
