/* The order in force: the wheels' duties, and until when. */
#include "orders.h"

#include "bridge.h"
#include "tick.h"

int8_t orders_duty[4];
static uint16_t since, deadline;

void orders_obey(const int8_t duty[4], uint16_t deadline_ms)
{
    for (uint8_t wheel = 0; wheel < 4; wheel++) {
        if (duty[wheel] != orders_duty[wheel])
            bridge_set(wheel, duty[wheel]);
        orders_duty[wheel] = duty[wheel];
    }
    since = tick_now();
    deadline = deadline_ms;
}

uint8_t orders_watch(void)
{
    static const int8_t rest[4];
    uint8_t turning = orders_duty[FL] || orders_duty[FR] || orders_duty[RL] || orders_duty[RR];
#ifdef FAULT_OBEYS_FOR_EVER
    return 0;
#endif
    if (!deadline || !turning || (uint16_t)(tick_now() - since) < deadline)
        return 0;
    orders_obey(rest, 0);
    return 1;
}
