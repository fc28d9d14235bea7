"""Team: gas matrix, switch plan, confusable labels."""
