"""The bench in the browser: pages and their JSON twins over one store of jobs."""
