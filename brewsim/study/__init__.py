"""What a person asks of any uncertain model; knows no beer."""
