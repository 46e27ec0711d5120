"""The order of work, part by part. Each part gives drafts; `stages.steps` numbers them."""
