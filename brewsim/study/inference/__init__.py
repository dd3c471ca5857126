"""What readings teach about the inputs."""
