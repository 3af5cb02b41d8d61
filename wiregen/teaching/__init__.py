"""Teaching: stages, planted faults, worksheets: layers over a job, and the figures drawn from them."""
