// The bundled page, byte for byte, as read-only data of the program.
  .section .rodata
  .global catoptra_page_begin
  .global catoptra_page_end
catoptra_page_begin:
  .incbin PAGE
catoptra_page_end:
  .byte 0
  .section .note.GNU-stack, "", @progbits
