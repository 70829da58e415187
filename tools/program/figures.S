// The script that draws figures, byte for byte, as read-only data of the program.
  .section .rodata
  .global catoptra_figures_begin
  .global catoptra_figures_end
catoptra_figures_begin:
  .incbin FIGURES
catoptra_figures_end:
  .byte 0
  .section .note.GNU-stack, "", @progbits
