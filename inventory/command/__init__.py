"""The command `quirestock`: one module a group of commands; heavy imports only inside the functions."""
