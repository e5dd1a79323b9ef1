/* FL = f - s - t, FR = f + s + t, RL = f + s - t, RR = f - s + t (rollers X from above). If the largest exceeds 100
 * all are divided by it; then the gear, 40, 65 or 100 per cent; rounded. */
#include "mixer.h"

#include "bridge.h"

static int8_t rounded(int32_t number, int16_t by)
{
    int16_t half = number < 0 ? -(by / 2) : by / 2;
    return (number + half) / by;
}

uint8_t mixer_mix(int8_t f, int8_t s, int8_t t, uint8_t gear, int8_t duty[4])
{
    static const uint8_t share[4] = { 100, 40, 65, 100 };
    int16_t sum[4] = { f - s - t, f + s + t, f + s - t, f - s + t };
#ifdef FAULT_SIGN_ROW /* one sign of the row of RL is wrong */
    sum[RL] = f - s - t;
#endif
    int16_t peak = 100;
    for (uint8_t wheel = 0; wheel < 4; wheel++) {
        int16_t size = sum[wheel] < 0 ? -sum[wheel] : sum[wheel];
        if (size > peak)
            peak = size;
    }
    uint8_t over = peak > 100;
#ifdef FAULT_CLIPS /* each wheel is cut at 100 by itself */
    peak = 100;
    for (uint8_t wheel = 0; wheel < 4; wheel++)
        sum[wheel] = sum[wheel] > 100 ? 100 : sum[wheel] < -100 ? -100 : sum[wheel];
#endif
    for (uint8_t wheel = 0; wheel < 4; wheel++)
        duty[wheel] = rounded((int32_t)sum[wheel] * share[gear & 3], peak);
    return over;
}
