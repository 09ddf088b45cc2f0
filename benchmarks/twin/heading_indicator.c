/* The heading indicator's kernel at working speed, written a second time in C.
 *
 * Only the benchmark uses it: compiled with -O2 it says what the same arithmetic costs outside Python.
 * It holds the laws that physics and the first wrong ideas need; a benchmark runs it under physics alone.
 * `layout.h` is written by `benchmarks/twin_kernel.py` from the engine's own records. Neither the rigid
 * body nor the held rotor is here: a flight that needs them stops with the index of the sample.
 */
#include <math.h>
#include <stdint.h>

#include "layout.h"

#define EARTH_RATE_RAD_S 7.292115e-5
#define G_PER_MPS2 (1.0 / 9.80665)
#define ENGINE_TURNING_RPM 100.0
#define MOVING_MPS 2.0
#define WEAK_COUPLING 0.02
#define GREATEST_ROUNDS 60
#define SETTLED 1e-9
#define LEAST_SHARE 0.2
#define SLOW_SHARE 0.05
#define BRISK_SHARE 0.3
#define QUICK_ROLL_RAD_S 0.35
#define FLAT_SINE 0.866
#define NEAR_STOP_RAD (1.5 * M_PI / 180.0)

typedef struct { double n, e, d; } Vector;

typedef struct {
    Vector nose, wing, floor;
    double roll, pitch, yaw, roll_change, pitch_change;
    double gravity_forward, gravity_right, gravity_down;
    double earth_north, earth_down, travel_north, travel_east, travel_down;
    double latitude_sin, momentum, spin_torque, levelling, wear, wander, finger, friction_rate;
} Moment;

typedef struct { double outer_cos, outer_sin, tilt_cos, tilt_sin; Vector y, z; } Gimbals;
typedef struct { double wander_inner, balance_inner, balance_outer, levelling_outer; } Torques;
typedef struct { Vector spin; double earth, travel, friction, balance, levelling, seeking; } Precession;

int64_t sample_bytes(void) { return sizeof(Sample); }
int64_t drive_bytes(void) { return sizeof(DriveSample); }
int64_t row_bytes(void) { return sizeof(HeadingRow); }

static double dot(Vector a, Vector b) { return a.n * b.n + a.e * b.e + a.d * b.d; }

static Moment moment_at(const Sample *samples, const DriveSample *drive, const double *wander, int64_t i,
                        double s, double step, const Gyro *gyro, const Laws *laws)
{
    const Sample *a = &samples[i], *b = &samples[i + 1];
    const DriveSample *u = &drive[i], *v = &drive[i + 1];
    const double w = 1.0 - s;
#define MIX(name) (w * a->name + s * b->name)
#define DRIVEN(name) (w * u->name + s * v->name)
    const double sine = MIX(latitude_sin), cosine = MIX(latitude_cos);
    const double earth_sine = laws->earth_both_hemispheres != 0.0 ? fabs(sine) : sine;
    Moment m;
    m.earth_down = -EARTH_RATE_RAD_S
        * (laws->earth_sine * earth_sine + laws->earth_cosine * cosine + laws->earth_constant);
    m.earth_north = EARTH_RATE_RAD_S * cosine;
    m.travel_north = MIX(travel_north_rad_s);
    m.travel_east = MIX(travel_east_rad_s);
    m.travel_down = laws->travel * MIX(travel_down_rad_s);
    m.nose = (Vector){MIX(nose_n), MIX(nose_e), MIX(nose_d)};
    m.wing = (Vector){MIX(wing_n), MIX(wing_e), MIX(wing_d)};
    m.floor = (Vector){MIX(floor_n), MIX(floor_e), MIX(floor_d)};
    const Vector level = {m.earth_north + m.travel_north, m.travel_east, m.earth_down + m.travel_down};
    m.roll = MIX(roll_rate_rad_s) + m.nose.n * level.n + m.nose.e * level.e + m.nose.d * level.d;
    m.pitch = MIX(pitch_rate_rad_s) + m.wing.n * level.n + m.wing.e * level.e + m.wing.d * level.d;
    m.yaw = MIX(yaw_rate_rad_s) + m.floor.n * level.n + m.floor.e * level.e + m.floor.d * level.d;
    const double per_step = 1.0 / step;
    m.roll_change = (b->roll_rate_rad_s - a->roll_rate_rad_s) * per_step;
    m.pitch_change = (b->pitch_rate_rad_s - a->pitch_rate_rad_s) * per_step;
    m.gravity_forward = -MIX(force_forward_mps2) * G_PER_MPS2;
    m.gravity_right = -MIX(force_right_mps2) * G_PER_MPS2;
    m.gravity_down = -MIX(force_down_mps2) * G_PER_MPS2;
    m.latitude_sin = sine;
    m.momentum = gyro->rotor_inertia_kgm2 * DRIVEN(rotor_rad_s);
    m.spin_torque = DRIVEN(spin_torque_nm);
    m.levelling = DRIVEN(levelling_fraction);
    m.wear = DRIVEN(wear_factor);
    m.wander = w * wander[i] + s * wander[i + 1];
    m.finger = DRIVEN(finger_nm);
    const int moving = a->north_mps * a->north_mps + a->east_mps * a->east_mps > MOVING_MPS * MOVING_MPS;
    const int shaken = moving || a->engine_rpm > ENGINE_TURNING_RPM;
    m.friction_rate = shaken ? gyro->shaken_rate_rad_s : gyro->still_rate_rad_s;
    return m;
#undef MIX
#undef DRIVEN
}

static Gimbals gimbals_of(Vector spin, const Moment *m)
{
    const double forward = dot(m->nose, spin), right = dot(m->wing, spin), down = dot(m->floor, spin);
    const double flat = sqrt(forward * forward + right * right);
    const double length = sqrt(flat * flat + down * down);
    const double per_flat = 1.0 / flat, per_length = 1.0 / length;
    const double ca = forward * per_flat, sa = right * per_flat, cb = flat * per_length, sb = -down * per_length;
    Gimbals g;
    g.outer_cos = ca;
    g.outer_sin = sa;
    g.tilt_cos = cb;
    g.tilt_sin = sb;
    g.y = (Vector){-sa * m->nose.n + ca * m->wing.n, -sa * m->nose.e + ca * m->wing.e,
                   -sa * m->nose.d + ca * m->wing.d};
    g.z = (Vector){sb * (ca * m->nose.n + sa * m->wing.n) + cb * m->floor.n,
                   sb * (ca * m->nose.e + sa * m->wing.e) + cb * m->floor.e,
                   sb * (ca * m->nose.d + sa * m->wing.d) + cb * m->floor.d};
    return g;
}

static Torques torques_of(const Gimbals *g, const Moment *m, const Gyro *gyro, const Laws *laws)
{
    double balance = gyro->balance_nm;
    if (laws->balance_everywhere != 0.0)
        balance = gyro->full_momentum_nms * EARTH_RATE_RAD_S * m->latitude_sin;
    const double across = g->outer_cos * m->gravity_forward + g->outer_sin * m->gravity_right;
    double inner = -balance * (g->tilt_sin * across + g->tilt_cos * m->gravity_down);
    const double outer = balance * g->tilt_cos
        * (g->outer_cos * m->gravity_right - g->outer_sin * m->gravity_forward);
    if (laws->balance_cancels_travel != 0.0)
        inner += gyro->full_momentum_nms * m->travel_down;
    return (Torques){laws->real_wander * m->wear * m->wander, inner, outer,
                     laws->levelling * gyro->levelling_nm * m->levelling * g->tilt_sin};
}

static double shift_of_card(Vector spin, double ds_n, double ds_e)
{
    return -(spin.n * ds_e - spin.e * ds_n) / (spin.n * spin.n + spin.e * spin.e);
}

static double shift_by_frame(Vector spin, double north, double east, double down)
{
    const double flat_squared = spin.n * spin.n + spin.e * spin.e;
    return down - spin.d * (north * spin.n + east * spin.e) / flat_squared;
}

static double grip(double rate, double torque, double friction_rate)
{
    const double x = fabs(rate) / friction_rate;
    if (x < 1e-4)
        return torque / friction_rate;
    return torque * tanh(x) / fabs(rate);
}

static void gimbal_rates(double free_outer, double free_inner, double stiffness, const Moment *m,
                         const Gyro *gyro, double out[4])
{
    const double outer_nm = gyro->outer_friction_nm * m->wear, inner_nm = gyro->inner_friction_nm * m->wear;
    const int strong = outer_nm > WEAK_COUPLING * stiffness * m->friction_rate;
    const int rounds = strong ? GREATEST_ROUNDS : 1;
    const double per_stiffness = 1.0 / stiffness;
    double outer = free_outer, inner = free_inner, outer_grip = 0.0, inner_grip = 0.0;
    for (int round = 0; round < rounds; round++) {
        outer_grip = grip(outer, outer_nm, m->friction_rate);
        inner_grip = grip(inner, inner_nm, m->friction_rate);
        const double ko = outer_grip * per_stiffness, ki = inner_grip * per_stiffness, before = outer;
        outer = (free_outer - ki * free_inner) / (1.0 + ki * ko);
        inner = free_inner + ko * outer;
        if (fabs(outer - before) < SETTLED * m->friction_rate)
            break;
    }
    out[0] = outer;
    out[1] = inner;
    out[2] = -outer_grip * outer;
    out[3] = -inner_grip * inner;
}

static double inertia_torque(const Gimbals *g, const Moment *m, double outer, double inner, const Gyro *gyro)
{
    const double p = m->roll * g->outer_cos + m->pitch * g->outer_sin;
    const double q = -m->roll * g->outer_sin + m->pitch * g->outer_cos;
    const double p_change = m->roll_change * g->outer_cos + m->pitch_change * g->outer_sin + q * outer;
    const double turn_change =
        -(p_change * g->tilt_sin * g->tilt_cos + p * inner) / (g->tilt_cos * g->tilt_cos);
    return -gyro->outer_inertia_z_kgm2 * turn_change
        + (gyro->outer_inertia_x_kgm2 - gyro->outer_inertia_y_kgm2) * p * q;
}

static Precession precession(Vector spin, double error, const Moment *m, const Gyro *gyro, const Laws *laws)
{
    const Gimbals g = gimbals_of(spin, m);
    const Torques t = torques_of(&g, m, gyro, laws);
    double h = m->momentum;
    if (laws->slow_rotor_power != 1.0)
        h = gyro->full_momentum_nms
            * fmax(pow(m->momentum / gyro->full_momentum_nms, laws->slow_rotor_power), LEAST_SHARE);
    const double cb = g.tilt_cos, per_cb = 1.0 / cb, per_h = 1.0 / h, tan_tilt = g.tilt_sin * per_cb;
    const double p = m->roll * g.outer_cos + m->pitch * g.outer_sin;
    const double q = -m->roll * g.outer_sin + m->pitch * g.outer_cos;
    const double free_z = (t.wander_inner + t.balance_inner) * per_h;
    const double reaction = m->spin_torque * tan_tilt;
    const double pushed = t.levelling_outer + t.balance_outer + m->finger;
    const double free_y = -(pushed * per_cb + reaction) * per_h;
    const double free_outer = (free_z - p * g.tilt_sin) * per_cb - m->yaw, free_inner = free_y - q;
    double f[4];
    gimbal_rates(free_outer, free_inner, h * cb, m, gyro, f);
    const double swing = inertia_torque(&g, m, f[0], f[1], gyro);

    const double friction_z = (t.wander_inner + f[3]) * per_h;
    const double friction_y = -((f[2] + swing + m->finger) * per_cb + reaction) * per_h;
    const double balance_z = t.balance_inner * per_h, balance_y = -t.balance_outer * per_cb * per_h;
    const double levelling_y = -t.levelling_outer * per_cb * per_h;
    const double by_z = shift_of_card(spin, g.y.n, g.y.e), by_y = -shift_of_card(spin, g.z.n, g.z.e);

    const double z_rate = friction_z + balance_z, y_rate = friction_y + balance_y + levelling_y;
    const double north = m->earth_north + m->travel_north, east = m->travel_east;
    const double seeking = -laws->north_seeking_per_s * error;
    const double down = m->earth_down + m->travel_down + seeking;
    return (Precession){
        {z_rate * g.y.n - y_rate * g.z.n - (east * spin.d - down * spin.e),
         z_rate * g.y.e - y_rate * g.z.e - (down * spin.n - north * spin.d),
         z_rate * g.y.d - y_rate * g.z.d - (north * spin.e - east * spin.n)},
        shift_by_frame(spin, m->earth_north, 0.0, m->earth_down),
        shift_by_frame(spin, m->travel_north, m->travel_east, m->travel_down),
        friction_z * by_z + friction_y * by_y,
        balance_z * by_z + balance_y * by_y,
        levelling_y * by_y,
        seeking,
    };
}

static double wrapped(double angle)
{
    double turned = fmod(angle, 2.0 * M_PI);
    if (turned < 0.0)
        turned += 2.0 * M_PI;
    return turned > M_PI ? turned - 2.0 * M_PI : turned;
}

static double level_reading(const GyroState *s, const Sample *here)
{
    return here->heading_rad - atan2(s->spin_e, s->spin_n) + s->knob_rad;
}

static double outer_angle(const GyroState *s, const Sample *here, const Laws *laws)
{
    const double n = s->spin_n, e = s->spin_e, d = s->spin_d;
    if (laws->geometry == 1.0)
        return atan2(here->wing_n * n + here->wing_e * e + here->wing_d * d,
                     here->nose_n * n + here->nose_e * e + here->nose_d * d);
    const double pitch = laws->geometry * here->pitch_rad, bank = laws->geometry * here->bank_rad;
    const double sh = sin(here->heading_rad), ch = cos(here->heading_rad);
    const double along = ch * n + sh * e, across = -sh * n + ch * e;
    const double forward = cos(pitch) * along - sin(pitch) * d, below = sin(pitch) * along + cos(pitch) * d;
    return atan2(cos(bank) * across + sin(bank) * below, forward);
}

static double tilt(const GyroState *s, const Sample *here)
{
    const double down = here->floor_n * s->spin_n + here->floor_e * s->spin_e + here->floor_d * s->spin_d;
    return -asin(fmax(-1.0, fmin(1.0, down)));
}

static void put_row(HeadingRow *row, const GyroState *s, const Sample *here, double touched, const Laws *laws)
{
    const double level = level_reading(s, here), indicated = s->knob_rad - outer_angle(s, here, laws);
    double turned = fmod(indicated, 2.0 * M_PI);
    row->indicated_rad = turned < 0.0 ? turned + 2.0 * M_PI : turned;
    row->level_rad = level;
    row->geometry_rad = wrapped(indicated - level);
    row->tilt_rad = tilt(s, here);
    row->on_stop = touched;
    row->caged = s->caged;
    row->earth_rad = s->booked_earth_rad;
    row->travel_rad = s->booked_travel_rad;
    row->friction_rad = s->booked_friction_rad;
    row->balance_rad = s->booked_balance_rad;
    row->levelling_rad = s->booked_levelling_rad;
    row->tumble_rad = s->booked_tumble_rad;
    row->seeking_rad = s->booked_seeking_rad;
}

static GyroState averaged_step(const GyroState *state, const Sample *samples, const DriveSample *drive,
                               const double *wander, double error, int64_t i, double share, double span,
                               double step, const Gyro *gyro, const Laws *laws)
{
    const Vector spin = {state->spin_n, state->spin_e, state->spin_d};
    const double half = 0.5 * span;
    const Moment middle = moment_at(samples, drive, wander, i, share, step, gyro, laws);
    const Vector halfway = {spin.n + half * state->drift_n, spin.e + half * state->drift_e,
                            spin.d + half * state->drift_d};
    const Precession r = precession(halfway, error, &middle, gyro, laws);
    const Vector next = {spin.n + span * r.spin.n, spin.e + span * r.spin.e, spin.d + span * r.spin.d};
    const double length = sqrt(dot(next, next));
    GyroState after = *state;
    after.spin_n = next.n / length;
    after.spin_e = next.e / length;
    after.spin_d = next.d / length;
    after.booked_earth_rad += span * r.earth;
    after.booked_travel_rad += span * r.travel;
    after.booked_friction_rad += span * r.friction;
    after.booked_balance_rad += span * r.balance;
    after.booked_levelling_rad += span * r.levelling;
    after.booked_seeking_rad += span * r.seeking;
    after.drift_n = r.spin.n;
    after.drift_e = r.spin.e;
    after.drift_d = r.spin.d;
    return after;
}

static int is_calm(const GyroState *s, const Sample *samples, const DriveSample *drive, int64_t i,
                   int64_t count, const Gyro *gyro)
{
    if (i + 2 >= count)
        return 0;
    const double momentum = gyro->rotor_inertia_kgm2 * fmin(drive[i].rotor_rad_s, drive[i + 2].rotor_rad_s);
    if (momentum < BRISK_SHARE * gyro->full_momentum_nms)
        return 0;
    if (fmax(fabs(samples[i + 1].roll_rate_rad_s), fabs(samples[i + 2].roll_rate_rad_s)) > QUICK_ROLL_RAD_S)
        return 0;
    const Sample *here = &samples[i + 1];
    const double down = here->floor_n * s->spin_n + here->floor_e * s->spin_e + here->floor_d * s->spin_d;
    return fabs(down) < FLAT_SINE;
}

/* Returns -1, or the index of the first sample that needs more than this twin has. */
int64_t fly_heading(GyroState *at, const Sample *samples, const DriveSample *drive, const double *wander,
                    const double *variation, int64_t count, double step, int64_t row_every,
                    const Gyro *gyro, const Laws *laws, HeadingRow *rows)
{
    GyroState state = *at;
    int64_t i = 0;
    while (i < count) {
        if (i % row_every == 0)
            put_row(&rows[i / row_every], &state, &samples[i], 0.0, laws);
        if (i == count - 1)
            break;
        const double momentum = gyro->rotor_inertia_kgm2 * drive[i].rotor_rad_s;
        if (state.caged != 0.0 || momentum < SLOW_SHARE * gyro->full_momentum_nms
            || fabs(tilt(&state, &samples[i])) > gyro->stop_rad - NEAR_STOP_RAD)
            return i;
        double error = 0.0;
        if (laws->north_seeking_per_s != 0.0)
            error = wrapped(level_reading(&state, &samples[i]) - (samples[i].heading_rad - variation[i]));
        if ((i + 1) % row_every != 0 && is_calm(&state, samples, drive, i, count, gyro)) {
            state = averaged_step(&state, samples, drive, wander, error, i + 1, 0.0, 2.0 * step, step, gyro,
                                  laws);
            i += 2;
        } else {
            state = averaged_step(&state, samples, drive, wander, error, i, 0.5, step, step, gyro, laws);
            i += 1;
        }
    }
    *at = state;
    return -1;
}
