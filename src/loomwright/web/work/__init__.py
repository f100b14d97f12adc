"""Long work off the request path: what there is to do, the process that does it, and the queue between."""
