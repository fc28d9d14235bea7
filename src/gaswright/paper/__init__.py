"""Paper: labels, slates and cards, made from permits by typst."""
