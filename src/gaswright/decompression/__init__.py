"""Decompression: ZH-L16 with gradient factors for a team, and the verifier that replays every schedule."""
