/* serial.c - the UART with a ring each way. */
#include "serial.h"

#include "adapter_frame.h"
#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>

/* Powers of two.  All that one second can bring at once fits into the first. */
enum { OUT_BYTES = 256, IN_BYTES = 64 };

static volatile uint8_t out[OUT_BYTES];
static volatile uint8_t out_put, out_taken;
static volatile uint8_t in[IN_BYTES];
static volatile uint8_t in_put, in_taken;

void serial_begin(void) {
    UCSR0A = _BV(U2X0);
    UBRR0 = (uint16_t)(F_CPU / 8 / ADAPTER_BAUD - 1);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

void board_send(const uint8_t *bytes, uint8_t n) {
    uint8_t put = out_put;
    uint8_t waiting = (uint8_t)(put - out_taken);
    if (n >= OUT_BYTES - 1 - waiting) {
        return;
    }
    for (uint8_t i = 0; i < n; i++) {
        out[put++] = bytes[i];
    }
    out_put = put;
    UCSR0B |= _BV(UDRIE0);
}

bool serial_byte(uint8_t *byte) {
    uint8_t taken = in_taken;
    if (taken == in_put) {
        return false;
    }
    *byte = in[taken];
    in_taken = (uint8_t)((taken + 1) % IN_BYTES);
    return true;
}

ISR(USART_UDRE_vect) {
    uint8_t taken = out_taken;
    if (taken == out_put) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = out[taken];
    out_taken = (uint8_t)(taken + 1);
}

/* Where there is no room the byte is lost, and the frame's CRC tells. */
ISR(USART_RX_vect) {
    uint8_t byte = UDR0;
    uint8_t next = (uint8_t)((in_put + 1) % IN_BYTES);
    if (next != in_taken) {
        in[in_put] = byte;
        in_put = next;
    }
}
