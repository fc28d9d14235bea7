/* A plain C kernel to measure against, never shipped: one diver, one level, minute stepping, no shortcut.
 *
 * It has the same tables as the kernel of the program: e^(-k u) of a stop unit and of a grid step, and what a step adds
 * to a fraction of 1, are made once by the caller. Every run has its own three gases (bottom, first and second of the
 * way up). At a halt it tries the step after every unit, all sixteen compartments, and stops at the first that forbids.
 * Rules as in docs/decompression.md: anchor where GF low first refuses, the line to GF high, one unit at least at the
 * first stop, slower steps from there.
 */
#include <stddef.h>

typedef struct {
    const double *e_n2, *e_he, *k_n2, *k_he; /* sixteen per step: descent, then steps, then slow steps */
    const double *level_e_n2, *level_e_he;   /* the time at the level */
    const double *unit_e_n2, *unit_e_he;     /* one unit of a stop */
    const double *a_n2, *b_n2, *a_he, *b_he;
    const double *bar;                       /* ambient pressure of the nodes, the surface last */
    const double *start_n2;
    long nodes, first_switch, second_switch;
    double gf_low, gf_high, vapour;
} Tables;

static int forbidden(const Tables *t, const double *n2, const double *he, double f_n2, double f_he, long step,
                     double gf, double bar, double *to_n2, double *to_he)
{
    const double *e_n2 = t->e_n2 + 16 * step, *e_he = t->e_he + 16 * step;
    const double *k_n2 = t->k_n2 + 16 * step, *k_he = t->k_he + 16 * step;
    for (int c = 0; c < 16; c++) {
        double n = n2[c] * e_n2[c] + f_n2 * k_n2[c], h = he[c] * e_he[c] + f_he * k_he[c], inert = n + h;
        if (inert > bar) {
            double a = (t->a_n2[c] * n + t->a_he[c] * h) / inert, b = (t->b_n2[c] * n + t->b_he[c] * h) / inert;
            if (inert > bar + gf * (a + bar / b - bar))
                return 1;
        }
        to_n2[c] = n;
        to_he[c] = h;
    }
    return 0;
}

static void wait(double *n2, double *he, double in_n2, double in_he, const double *e_n2, const double *e_he)
{
    for (int c = 0; c < 16; c++) {
        n2[c] = in_n2 + (n2[c] - in_n2) * e_n2[c];
        he[c] = in_he + (he[c] - in_he) * e_he[c];
    }
}

/* gases: nitrogen and helium of bottom, first and second gas, six per run; units: stop units of the whole way up */
void dives(const Tables *t, const double *gases, long runs, long *units)
{
    for (long run = 0; run < runs; run++) {
        const double *gas = gases + 6 * run;
        double n2[16], he[16], to_n2[16], to_he[16], f_n2 = gas[0], f_he = gas[1];
        long anchor = -1, slow = 0, total = 0, steps = t->nodes - 1;
        for (int c = 0; c < 16; c++) {
            n2[c] = t->start_n2[c] * t->e_n2[c] + f_n2 * t->k_n2[c];
            he[c] = f_he * t->k_he[c];
        }
        double dry = t->bar[0] - t->vapour;
        wait(n2, he, f_n2 * dry, f_he * dry, t->level_e_n2, t->level_e_he);
        for (long node = 0; node < steps; node++) {
            long here = 0;
            dry = t->bar[node] - t->vapour;
            if (node == t->first_switch || node == t->second_switch) {
                f_n2 = gas[node == t->first_switch ? 2 : 4];
                f_he = gas[node == t->first_switch ? 3 : 5];
                wait(n2, he, f_n2 * dry, f_he * dry, t->unit_e_n2, t->unit_e_he);
                here = 1;
            }
            for (;;) {
                long step = 1 + node + (slow ? steps : 0);
                double bar = t->bar[node + 1], surface = t->bar[steps];
                double gf = t->gf_low;
                if (anchor >= 0)
                    gf += (t->gf_high - t->gf_low) * (t->bar[anchor] - bar) / (t->bar[anchor] - surface);
                int no = forbidden(t, n2, he, f_n2, f_he, step, gf, bar, to_n2, to_he);
                if (no && anchor < 0) {
                    anchor = node;
                    gf = t->gf_low + (t->gf_high - t->gf_low) * (t->bar[node] - bar) / (t->bar[node] - surface);
                    no = forbidden(t, n2, he, f_n2, f_he, step, gf, bar, to_n2, to_he);
                }
                if (!no)
                    break;
                if (!slow) {
                    slow = 1;
                    if (here > 0)
                        continue;
                }
                wait(n2, he, f_n2 * dry, f_he * dry, t->unit_e_n2, t->unit_e_he);
                here++;
            }
            total += here;
            for (int c = 0; c < 16; c++) {
                n2[c] = to_n2[c];
                he[c] = to_he[c];
            }
        }
        units[run] = total;
    }
}
