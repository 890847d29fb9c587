/* canvas.c - see canvas.h. */
#include "face/canvas.h"

#include "base/clock.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <fontconfig/fontconfig.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

static const char sans[] = "DejaVu Sans";
static const char mono[] = "DejaVu Sans Mono";

static const double page_gap = 12; /* between the pages of an SVG picture */
static const double across_grey = 0.8;

enum { TYPES_MAX = 24 };

/* A type that was asked for before, and its font. */
typedef struct known_type {
    double size;
    bool bold, mono;
    PangoFontDescription *font;
} known_type;

struct bw_canvas {
    PangoFontMap *map;
    PangoContext *context;
    PangoLayout *layout;
    known_type known[TYPES_MAX];
    size_t known_n;
    const PangoFontDescription *set; /* what the layout has */
    cairo_surface_t *surface;
    cairo_t *cairo;
    bw_canvas_paper paper;
    size_t page;
    FILE *out;
    bool failed; /* writing */
    size_t missing;
};

/* ---- fonts ---- */

/* Pango takes any font where the one that is named is not there, and none where there is none at
 * all: then text vanishes without an error. */
static bool installed(const char *family) {
    FcPattern *asked = FcPatternBuild(NULL, FC_FAMILY, FcTypeString, family, (char *)NULL);
    FcResult result = FcResultNoMatch;
    FcChar8 *name = NULL;
    bool same = false;
    if (asked != NULL) {
        (void)FcConfigSubstitute(NULL, asked, FcMatchPattern);
        FcDefaultSubstitute(asked);
        FcPattern *found = FcFontMatch(NULL, asked, &result);
        same = found != NULL && FcPatternGetString(found, FC_FAMILY, 0, &name) == FcResultMatch &&
               strcmp((const char *)name, family) == 0;
        if (found != NULL) {
            FcPatternDestroy(found);
        }
        FcPatternDestroy(asked);
    }
    return same;
}

/* The same on every screen and printer: no hints, no rounding to pixels. */
static bool make_context(bw_canvas *canvas) {
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    canvas->map = pango_cairo_font_map_new();
    canvas->context = canvas->map != NULL ? pango_font_map_create_context(canvas->map) : NULL;
    if (canvas->context != NULL) {
        pango_cairo_context_set_font_options(canvas->context, options);
        pango_cairo_context_set_resolution(canvas->context, 72.0);
        pango_context_set_round_glyph_positions(canvas->context, FALSE);
        pango_context_set_language(canvas->context, pango_language_from_string("en"));
        canvas->layout = pango_layout_new(canvas->context);
    }
    if (canvas->layout != NULL) {
        /* a broken word gets no hyphen: it would be read as one of its letters */
        PangoAttrList *attributes = pango_attr_list_new();
        pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE));
        pango_layout_set_attributes(canvas->layout, attributes);
        pango_attr_list_unref(attributes);
    }
    cairo_font_options_destroy(options);
    return canvas->layout != NULL;
}

bw_status bw_canvas_new(bw_canvas **out, bw_err *err) {
    if (!installed(sans) || !installed(mono)) {
        return bw_fail(err, BW_E_ABSENT,
                       "the font %s is not installed, and a sheet without its text is none; right "
                       "would be: apt-get install fonts-dejavu-core",
                       sans);
    }
    bw_canvas *canvas = calloc(1, sizeof *canvas);
    if (canvas == NULL || !make_context(canvas)) {
        bw_canvas_free(canvas);
        return bw_fail(err, BW_E_MEM, "no memory to draw");
    }
    *out = canvas;
    return BW_OK;
}

void bw_canvas_free(bw_canvas *canvas) {
    if (canvas == NULL) {
        return;
    }
    for (size_t i = 0; i < canvas->known_n; i++) {
        pango_font_description_free(canvas->known[i].font);
    }
    if (canvas->cairo != NULL) {
        cairo_destroy(canvas->cairo);
    }
    if (canvas->surface != NULL) {
        cairo_surface_destroy(canvas->surface);
    }
    if (canvas->layout != NULL) {
        g_object_unref(canvas->layout);
    }
    if (canvas->context != NULL) {
        g_object_unref(canvas->context);
    }
    if (canvas->map != NULL) {
        g_object_unref(canvas->map);
    }
    free(canvas);
}

static const PangoFontDescription *font_for(bw_canvas *canvas, bw_type type) {
    for (size_t i = 0; i < canvas->known_n; i++) {
        const known_type *k = &canvas->known[i];
        if (k->size == type.size && k->bold == type.bold && k->mono == type.mono) {
            return k->font;
        }
    }
    if (canvas->known_n == TYPES_MAX) { /* sizes that were fitted to something: the oldest goes */
        pango_font_description_free(canvas->known[0].font);
        memmove(canvas->known, canvas->known + 1, (TYPES_MAX - 1) * sizeof canvas->known[0]);
        canvas->known_n--;
    }
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, type.mono ? mono : sans);
    pango_font_description_set_weight(font, type.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, type.size * PANGO_SCALE);
    canvas->known[canvas->known_n++] = (known_type){
        .size = type.size, .bold = type.bold, .mono = type.mono, .font = font};
    return font;
}

static void set_layout(bw_canvas *canvas, bw_type type, const char *text, double width,
                       PangoAlignment align) {
    const PangoFontDescription *font = font_for(canvas, type);
    if (font != canvas->set) {
        pango_layout_set_font_description(canvas->layout, font);
        canvas->set = font;
    }
    pango_layout_set_alignment(canvas->layout, align);
    pango_layout_set_wrap(canvas->layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_width(canvas->layout, width > 0 ? (int)ceil(width * PANGO_SCALE) : -1);
    pango_layout_set_text(canvas->layout, text, -1);
}

/* ---- the file ---- */

static cairo_status_t write_to(void *closure, const unsigned char *data, unsigned int len) {
    bw_canvas *canvas = closure;
    bool good = fwrite(data, 1, len, canvas->out) == len;
    canvas->failed = canvas->failed || !good;
    return good ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static cairo_surface_t *pdf_surface(bw_canvas *canvas) {
    const bw_canvas_paper *paper = &canvas->paper;
    char made[BW_TIME_TEXT_MAX];
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(write_to, canvas, paper->width,
                                                                   paper->height);
    (void)bw_time_text(paper->made_ms, made);
    memcpy(made + 19, "Z", 2); /* whole seconds */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, paper->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "boltwright");
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, made);
    return surface;
}

static cairo_surface_t *svg_surface(bw_canvas *canvas) {
    const bw_canvas_paper *paper = &canvas->paper;
    double pages = (double)paper->pages;
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(
        write_to, canvas, paper->width, pages * paper->height + (pages - 1) * page_gap);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PT);
    return surface;
}

/* A page of the picture is a white sheet with an edge. */
static void svg_page(bw_canvas *canvas) {
    static const double white = 1;
    double top = (double)canvas->page * (canvas->paper.height + page_gap);
    cairo_identity_matrix(canvas->cairo);
    cairo_translate(canvas->cairo, 0, top);
    bw_canvas_box(canvas, (bw_line){0.5, 0.7, 0}, &white, 0, 0, canvas->paper.width,
                  canvas->paper.height);
}

bw_status bw_canvas_begin(bw_canvas *canvas, const bw_canvas_paper *paper, FILE *out, bw_err *err) {
    canvas->paper = *paper;
    canvas->out = out;
    canvas->surface = paper->svg ? svg_surface(canvas) : pdf_surface(canvas);
    canvas->cairo = cairo_create(canvas->surface);
    if (cairo_status(canvas->cairo) != CAIRO_STATUS_SUCCESS) {
        return bw_fail(err, BW_E_MEM, "cannot draw: %s",
                       cairo_status_to_string(cairo_status(canvas->cairo)));
    }
    cairo_set_line_join(canvas->cairo, CAIRO_LINE_JOIN_ROUND);
    if (paper->svg) {
        svg_page(canvas);
    }
    return BW_OK;
}

void bw_canvas_next_page(bw_canvas *canvas) {
    canvas->page++;
    if (canvas->paper.svg) {
        svg_page(canvas);
    } else {
        cairo_show_page(canvas->cairo);
    }
}

bw_status bw_canvas_end(bw_canvas *canvas, size_t *missing, bw_err *err) {
    cairo_status_t status = cairo_status(canvas->cairo);
    cairo_destroy(canvas->cairo);
    canvas->cairo = NULL;
    cairo_surface_finish(canvas->surface);
    if (status == CAIRO_STATUS_SUCCESS) {
        status = cairo_surface_status(canvas->surface);
    }
    *missing = canvas->missing;
    if (canvas->failed || status != CAIRO_STATUS_SUCCESS) {
        return bw_fail(err, BW_E_IO, "the sheet could not be written: %s",
                       cairo_status_to_string(status));
    }
    return BW_OK;
}

/* ---- text ---- */

static double points(int pango) {
    return (double)pango / PANGO_SCALE;
}

void bw_canvas_measure(bw_canvas *canvas, bw_type type, const char *text, double width,
                       double *text_width, double *text_height) {
    int w = 0;
    int h = 0;
    set_layout(canvas, type, text, width, PANGO_ALIGN_LEFT);
    pango_layout_get_size(canvas->layout, &w, &h);
    *text_width = points(w);
    *text_height = points(h);
}

void bw_canvas_text(bw_canvas *canvas, bw_type type, bw_align align, double x, double y,
                    double width, const char *text) {
    static const PangoAlignment aligns[] = {PANGO_ALIGN_LEFT, PANGO_ALIGN_RIGHT,
                                            PANGO_ALIGN_CENTER};
    int w = 0;
    set_layout(canvas, type, text, width, aligns[align]);
    canvas->missing += (size_t)pango_layout_get_unknown_glyphs_count(canvas->layout);
    if (align != BW_ALIGN_LEFT) {
        pango_layout_get_size(canvas->layout, &w, NULL);
        double box = width > 0 ? width : points(w);
        x -= align == BW_ALIGN_RIGHT ? box : box / 2;
    }
    cairo_set_source_rgb(canvas->cairo, type.grey, type.grey, type.grey);
    cairo_move_to(canvas->cairo, x, y);
    pango_cairo_show_layout(canvas->cairo, canvas->layout);
    cairo_new_path(canvas->cairo); /* where the text ended is no beginning of a line */
}

void bw_canvas_across(bw_canvas *canvas, double width, double height, const char *words) {
    double text_width = 0;
    double text_height = 0;
    double diagonal = hypot(width, height);
    bw_type type = {.size = 100, .bold = true};
    bw_canvas_measure(canvas, type, words, 0, &text_width, &text_height);
    type.size = 100 * 0.8 * diagonal / text_width;
    bw_canvas_measure(canvas, type, words, 0, &text_width, &text_height);
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, width / 2, height / 2);
    cairo_rotate(canvas->cairo, -atan2(height, width));
    cairo_move_to(canvas->cairo, -text_width / 2, -text_height / 2);
    pango_cairo_layout_path(canvas->cairo, canvas->layout);
    cairo_set_source_rgb(canvas->cairo, across_grey, across_grey, across_grey);
    cairo_set_line_width(canvas->cairo, 1);
    cairo_stroke(canvas->cairo);
    cairo_restore(canvas->cairo);
}

/* ---- lines and shapes ---- */

static void stroke(bw_canvas *canvas, bw_line line) {
    cairo_set_source_rgb(canvas->cairo, line.grey, line.grey, line.grey);
    cairo_set_line_width(canvas->cairo, line.width);
    cairo_set_dash(canvas->cairo, &line.dash, line.dash > 0 ? 1 : 0, 0);
    cairo_stroke(canvas->cairo);
}

static void fill_and_stroke(bw_canvas *canvas, bw_line line, const double *fill) {
    if (fill != NULL) {
        cairo_set_source_rgb(canvas->cairo, *fill, *fill, *fill);
        cairo_fill_preserve(canvas->cairo);
    }
    if (line.width > 0) {
        stroke(canvas, line);
    } else {
        cairo_new_path(canvas->cairo);
    }
}

void bw_canvas_line(bw_canvas *canvas, bw_line line, double x0, double y0, double x1, double y1) {
    cairo_move_to(canvas->cairo, x0, y0);
    cairo_line_to(canvas->cairo, x1, y1);
    stroke(canvas, line);
}

void bw_canvas_path(bw_canvas *canvas, bw_line line, const double *x, const double *y, size_t n) {
    for (size_t i = 0; i < n; i++) {
        cairo_line_to(canvas->cairo, x[i], y[i]);
    }
    stroke(canvas, line);
}

void bw_canvas_box(bw_canvas *canvas, bw_line line, const double *fill, double x, double y,
                   double width, double height) {
    cairo_rectangle(canvas->cairo, x, y, width, height);
    fill_and_stroke(canvas, line, fill);
}

void bw_canvas_circle(bw_canvas *canvas, bw_line line, const double *fill, double x, double y,
                      double radius) {
    static const double two_pi = 6.283185307179586;
    cairo_new_sub_path(canvas->cairo);
    cairo_arc(canvas->cairo, x, y, radius, 0, two_pi);
    cairo_close_path(canvas->cairo);
    fill_and_stroke(canvas, line, fill);
}

void bw_canvas_shape(bw_canvas *canvas, bw_line line, const double *fill, const double *x,
                     const double *y, size_t n) {
    for (size_t i = 0; i < n; i++) {
        cairo_line_to(canvas->cairo, x[i], y[i]);
    }
    cairo_close_path(canvas->cairo);
    fill_and_stroke(canvas, line, fill);
}

void bw_canvas_within(bw_canvas *canvas, double x, double y, double width, double height) {
    cairo_save(canvas->cairo);
    cairo_rectangle(canvas->cairo, x, y, width, height);
    cairo_clip(canvas->cairo);
}

void bw_canvas_whole(bw_canvas *canvas) {
    cairo_restore(canvas->cairo);
}
