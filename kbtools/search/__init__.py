"""From a caller's words to the right symptom: analysis, index, ranking, and the same numbers for the browser."""
