/* sheet_text.h - a sheet as plain text, 100 columns.
 *
 * Room: face. */
#ifndef BW_FACE_SHEET_TEXT_H
#define BW_FACE_SHEET_TEXT_H

#include "face/sheet.h"

#include <stdio.h>

/* Maps, curves and codes are left out, and what is to be signed on paper; all else is there. */
void bw_sheet_print(const bw_sheet *sheet, FILE *out);

#endif
