"""Knowledge to verdict. Nothing here prints, reads the clock or knows a terminal."""
