/* The moves that the command board plays. After the last one it goes on with that. */
#include "script.h"

const move script[] = {
#if defined(LINK_PLAIN)
#ifdef SCRIPT_SHORT
    { 0, 0, 0, 0, 200, "pace,180" },
    { 0, 0, 0, 0, 600, "way,ahead" },
    { 0, 0, 0, 0, 300, "way,rest" },
    { 0, 0, 0, 0, 1300, "way,port" },
    { 0, 0, 0, 0, 300, "way,rest" },
#else
    { 0, 0, 0, 0, 200, "way,rest" },
    { 0, 0, 0, 0, 250, "way,ahead" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 100, "pace,180" },
    { 0, 0, 0, 0, 250, "way,astern" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,port" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,starboard" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 100, "lamp,40" },
    { 0, 0, 0, 0, 250, "way,ahead-port" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,ahead-starboard" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,astern-port" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,astern-starboard" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,spin-port" },
    { 0, 0, 0, 0, 250, "pace,255" },
    { 0, 0, 0, 0, 250, "way,rest" },
    { 0, 0, 0, 0, 250, "way,spin-starboard" },
    { 0, 0, 0, 0, 250, "way,rest" },
#endif
#elif defined(SCRIPT_REVERSAL) /* full ahead, full astern, nothing between */
    { 0, 0, 0, 3, 300, 0 },
    { 100, 0, 0, 3, 500, 0 },
    { -100, 0, 0, 3, 500, 0 },
    { 100, 0, 0, 3, 500, 0 },
    { 0, 0, 0, 3, 300, 0 },
#elif defined(SCRIPT_HANG) /* the last strafe has a turn in it, then the move changes */
    { 0, 0, 0, 2, 300, 0 },
    { 60, 0, 0, 2, 500, 0 },
    { 0, 80, 14, 2, 500, 0 },
    { 0, 0, 0, 2, 300, 0 },
    { 60, 0, 0, 2, 500, 0 },
    { 0, 0, 0, 2, 300, 0 },
#elif defined(SCRIPT_STILL) /* one move kept still, then another: for senders that send only changes */
    { 0, 0, 0, 2, 300, 0 },
    { 60, 0, 0, 2, 800, 0 },
    { 60, 0, 12, 2, 800, 0 },
    { 0, 80, 0, 2, 150, 0 },
    { 0, 0, 0, 2, 600, 0 },
#else
    { 0, 0, 0, 2, 300, 0 },
    { 60, 0, 0, 2, 500, 0 },
    { 0, 0, 0, 2, 200, 0 },
    { -40, 0, 0, 3, 400, 0 },
    { 0, 0, 0, 2, 200, 0 },
    { 0, 80, 0, 2, 500, 0 },
    { 0, 0, 0, 2, 200, 0 },
    { 30, -65, 0, 2, 400, 0 },
    { 0, 0, 50, 2, 400, 0 },
    { 0, 0, -50, 1, 400, 0 },
    { 60, 0, 18, 2, 300, 0 },
    { 100, 100, 40, 3, 400, 0 },
    { 0, 0, 0, 2, 300, 0 },
#endif
};

const uint8_t script_length = sizeof script / sizeof *script;
