"""The paper test: print sheets, read photos of pulled hair, put right what was read, see which tools break hair."""
