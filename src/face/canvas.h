/* canvas.h - pages to draw on: text, lines and shapes into PDF or SVG.
 *
 * Room: face, in the shared object that is loaded when a sheet is drawn; the one user of cairo,
 * pango and fontconfig.  Lengths are points (1/72 inch), y runs down from the top of the page.
 * Grey: 0 black to 1 white; there is no colour. */
#ifndef BW_FACE_CANVAS_H
#define BW_FACE_CANVAS_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

typedef struct bw_canvas bw_canvas;

typedef struct bw_type {
    double size;
    bool bold;
    bool mono; /* all characters of one width */
    double grey;
} bw_type;

typedef enum bw_align { BW_ALIGN_LEFT = 0, BW_ALIGN_RIGHT, BW_ALIGN_MIDDLE } bw_align;

typedef struct bw_line {
    double width;
    double grey;
    double dash; /* length of dashes and gaps; 0: unbroken */
} bw_line;

/* A canvas that can measure; nothing to draw on yet.  BW_E_ABSENT where the font that all sheets
 * are set in is not installed; BW_E_MEM. */
BW_MUST_USE bw_status bw_canvas_new(bw_canvas **out, bw_err *err);
void bw_canvas_free(bw_canvas *canvas);

typedef struct bw_canvas_paper {
    bool svg;             /* one picture with the pages below each other; else PDF */
    double width, height; /* of a page */
    size_t pages;
    const char *title;
    int64_t made_ms; /* the file's date: nothing else in it depends on when it is made */
} bw_canvas_paper;

/* Begins the file on its first page; out is borrowed until bw_canvas_end. */
BW_MUST_USE bw_status bw_canvas_begin(bw_canvas *canvas, const bw_canvas_paper *paper, FILE *out,
                                      bw_err *err);
void bw_canvas_next_page(bw_canvas *canvas);
/* BW_E_IO where not all could be written.  *missing: characters that no font here has. */
BW_MUST_USE bw_status bw_canvas_end(bw_canvas *canvas, size_t *missing, bw_err *err);

/* Width and height of a text, broken at spaces where width > 0 (a word that is too long: within
 * it). */
void bw_canvas_measure(bw_canvas *canvas, bw_type type, const char *text, double width,
                       double *text_width, double *text_height);
/* x is the left edge, the right edge or the middle, y the top.  width as above; a broken text that
 * is not left has the width as its box, which ends or is centred at x. */
void bw_canvas_text(bw_canvas *canvas, bw_type type, bw_align align, double x, double y,
                    double width, const char *text);

void bw_canvas_line(bw_canvas *canvas, bw_line line, double x0, double y0, double x1, double y1);
/* A line through n points. */
void bw_canvas_path(bw_canvas *canvas, bw_line line, const double *x, const double *y, size_t n);
/* Filled where fill is not NULL, outlined where line.width > 0. */
void bw_canvas_box(bw_canvas *canvas, bw_line line, const double *fill, double x, double y,
                   double width, double height);
void bw_canvas_circle(bw_canvas *canvas, bw_line line, const double *fill, double x, double y,
                      double radius);
void bw_canvas_shape(bw_canvas *canvas, bw_line line, const double *fill, const double *x,
                     const double *y, size_t n);
/* Words across the whole page from corner to corner, as an outline. */
void bw_canvas_across(bw_canvas *canvas, double width, double height, const char *words);
/* Only what lies in this box is drawn, until bw_canvas_whole. */
void bw_canvas_within(bw_canvas *canvas, double x, double y, double width, double height);
void bw_canvas_whole(bw_canvas *canvas);

#endif
