"""The scorer on cases worked out by hand."""
import types
import unittest

import score
import spans
import truth as truths


def lapse(start, end, bracket=None, confidence=0.97):
    return {'start_s': start, 'end_s': end, 'end_range_s': bracket or [end, end], 'confidence': confidence}


def truth(**more):
    t = types.SimpleNamespace(never_on=False, can_tell='yes', base_off=70, duration=10.0, lapses=[], off=[],
                              moving=[(0.0, 10.0)], still=[], flips=[], at_speed=[])
    t.__dict__.update(more)
    t.on = spans.rest(t.off, 0.0, t.duration)
    t.away_from_edges = lambda pad: [(0.0, t.duration)]
    t.shows = lambda at: bool(spans.holding(t.moving, at))
    return t


def measured(lapses=(), flips=(), states=()):
    return types.SimpleNamespace(flips=list(flips), json={'lapses': list(lapses), 'states': [
        {'state': state, 'start_s': start, 'end_s': end, 'confidence': confidence}
        for state, start, end, confidence in states]})


class Spans(unittest.TestCase):
    def test_common_rest_joined(self):
        self.assertEqual(spans.common([(0, 2), (3, 5)], [(1, 4)]), [(1, 2), (3, 4)])
        self.assertEqual(spans.rest([(1, 2), (4, 6)], 0, 5), [(0, 1), (2, 4)])
        self.assertEqual(spans.joined([(2, 3), (0, 1), (1, 2), (5, 5)]), [(0, 3)])


class BaseRates(unittest.TestCase):
    def of(self, lasts):
        t = object.__new__(truths.Truth)
        t.intervals = [(i / 70, (i + 1) / 70, False, x) for i, x in enumerate(lasts)]
        t.shows = lambda at: True
        return t.base_rates()

    def test_a_rate_that_wanders_is_its_mean(self):
        on, off = self.of([0.019, 0.021] * 10)
        self.assertIsNone(on)
        self.assertAlmostEqual(off, 50)

    def test_a_jump_of_the_delay_and_a_heavy_scene_are_no_base_periods(self):
        # 60/s in step with the display; the first frame off is sampled 7 ms later, four come at half the rate
        self.assertAlmostEqual(self.of([1 / 60 + 0.007] + [1 / 60] * 12 + [2 / 60] * 4)[1], 60)
        self.assertAlmostEqual(self.of([1 / 40 + 0.007] + [1 / 40] * 12)[1], 40)


class Lapses(unittest.TestCase):
    def scored(self, wanted, got, **more):
        return score.score_lapses(truth(lapses=wanted, off=wanted, **more), measured(got))

    def test_half_of_the_union_is_enough(self):
        self.assertEqual(self.scored([(1.0, 2.0)], [lapse(1.0, 1.5)])['f1'], 1)
        self.assertEqual(self.scored([(1.0, 2.0)], [lapse(1.0, 1.49)])['f1'], 0)

    def test_f1_of_hits_misses_and_false_ones(self):
        # 2 hits of 3 wanted, 1 false: recall 2/3, precision 2/3
        row = self.scored([(1.0, 1.2), (2.0, 2.2), (3.0, 3.2)], [lapse(1.0, 1.2), lapse(2.0, 2.2), lapse(7.0, 7.2)])
        self.assertAlmostEqual(row['f1'], 2 / 3)
        self.assertEqual((row['missed_at_s'], row['false_at_s']), ([3.0], [7.0]))

    def test_a_narrow_bracket_stands_for_the_end(self):
        self.assertEqual(self.scored([(1.0, 1.2)], [lapse(1.0, 1.5, [1.1, 1.55])])['f1'], 1)
        self.assertEqual(self.scored([(1.0, 1.2)], [lapse(1.0, 1.5, [1.1, 1.65])])['f1'], 0)
        self.assertEqual(self.scored([(1.0, 1.2)], [lapse(1.0, 1.5, [1.3, 1.55])])['f1'], 0)

    def test_end_fault_allows_the_still_stretch(self):
        got = lapse(1.0, 1.3, [1.1, 1.4])
        self.assertEqual(score.end_fault(got, 1.2, [(1.1, 1.4)]), 0)
        self.assertAlmostEqual(score.end_fault(got, 1.2, [(1.15, 1.3)]), 0.1)
        self.assertAlmostEqual(score.end_fault(got, 1.2, []), 0.1)

    def test_short_ones_are_judged_apart(self):
        row = self.scored([(1.0, 1.05), (3.0, 3.04), (5.0, 5.2)], [lapse(1.0, 1.05), lapse(5.0, 5.2), lapse(7.0, 7.03)])
        self.assertEqual((row['lapses_true'], row['lapses_hit'], row['lapses_false'], row['f1']), (1, 1, 0, 1))
        self.assertEqual((row['short_true'], row['short_hit'], row['short_false']), (2, 1, 1))

    def test_one_around_the_limit_counts_where_the_truth_lies(self):
        row = self.scored([(1.0, 1.058)], [lapse(1.0, 1.062)])
        self.assertEqual((row['lapses_true'], row['lapses_false'], row['short_hit']), (0, 0, 1))

    def test_nothing_may_be_said_where_nothing_can_be_told(self):
        row = self.scored([(1.0, 1.2)], [lapse(1.0, 1.2)], can_tell='no')
        self.assertEqual((row['lapses_true'], row['lapses_hit'], row['lapses_false']), (0, 0, 1))

    def test_where_it_need_not_be_told_none_is_missed(self):
        row = self.scored([(1.0, 1.2), (3.0, 3.2)], [lapse(1.0, 1.2), lapse(7.0, 7.2)], can_tell='either')
        self.assertEqual((row['lapses_true'], row['lapses_hit'], row['lapses_false']), (1, 1, 1))

    def test_bins_hold_what_is_true(self):
        row = self.scored([(1.0, 1.2)], [lapse(1.0, 1.2, confidence=0.97), lapse(7.0, 7.2, confidence=0.955)])
        self.assertEqual(row['lapse_bins'][score.BINS.index(0.95)], [2, 1])
        self.assertEqual(sum(b[0] for b in row['lapse_bins']), 2)


class States(unittest.TestCase):
    # moves for 4 s, off in the last of them; called on for 3.5 s, then unseen
    called = measured(states=[('on', 0.0, 3.0, 0.995), ('on', 3.0, 3.5, 0.55), ('unseen', 3.5, 10.0, 0.0)])

    def scored(self, **more):
        return score.score_states(truth(off=[(3.0, 10.0)], moving=[(0.0, 4.0)], **more), self.called)

    def test_wrong_of_what_is_seen_and_unseen_of_all(self):
        row = self.scored()
        self.assertAlmostEqual(row['wrong_moving'], 0.5 / 3.5)
        self.assertAlmostEqual(row['unseen_moving'], 0.5 / 4)
        self.assertEqual(row['state_bins'][score.BINS.index(0.99)], [3.0, 3.0])
        self.assertEqual(row['state_bins'][score.BINS.index(0.5)], [0.5, 0.0])

    def test_what_is_told_at_each_speed(self):
        slow, fast = self.scored(at_speed=[[(2.0, 3.0)], [(3.0, 4.0)]])['speed_bins']
        self.assertEqual(slow, [1.0, 1.0, 1.0, 0.995, 0, 0])
        self.assertEqual(fast, [1.0, 0.5, 0.0, 0.5 * 0.55, 0, 0])

    def test_all_that_is_called_is_wrong_where_nothing_can_be_told(self):
        row = self.scored(can_tell='no')
        self.assertAlmostEqual(row['wrong_moving'], 3.5 / 4)
        self.assertIsNone(row['unseen_moving'])

    def test_unseen_is_right_where_it_need_not_be_told(self):
        row = self.scored(can_tell='either')
        self.assertAlmostEqual(row['wrong_moving'], 0.5 / 3.5)
        self.assertIsNone(row['unseen_moving'])


class Shares(unittest.TestCase):
    def scored(self, said, low, high, fast=0.5, refused=None, **more):
        t = truth(**({'off': [(2.0, 3.0)], 'turning': [(1.0, 3.0)]} | more))
        m = types.SimpleNamespace(json={'exposure': {
            'off_share_of_take': said, 'off_share_of_take_low': low, 'off_share_of_take_high': high,
            'off_share_of_take_refused': refused, 'open_s': 0.5, 'off_share_in_motion': fast,
            'off_share_in_motion_low': fast - 0.05, 'off_share_in_motion_high': fast + 0.05}})
        return score.score_shares(t, m)

    def test_off_for_one_second_of_ten(self):
        row = self.scored(0.114, 0.09, 0.13)
        self.assertEqual((row['share_true'], row['turning_true'], row['open']), (0.1, 0.5, 0.05))
        self.assertTrue(row['share_close'] and row['share_holds'] and row['turning_close'])
        self.assertFalse(self.scored(0.116, 0.09, 0.13)['share_close'])  # 15 % of 0.1 are 0.015
        self.assertFalse(self.scored(0.114, 0.101, 0.13)['share_holds'])

    def test_a_point_is_enough_where_little_is_off(self):
        self.assertTrue(self.scored(0.019, 0.0, 0.03, off=[(2.0, 2.1)])['share_close'])
        self.assertFalse(self.scored(0.021, 0.0, 0.03, off=[(2.0, 2.1)])['share_close'])

    def test_a_refusal_is_neither_close_nor_far(self):
        row = self.scored(None, 0.05, 0.8, refused='latches')
        self.assertIsNone(row['share_close'])
        self.assertTrue(row['share_holds'])

    def test_turning_by_points_or_by_its_interval(self):
        self.assertTrue(self.scored(0.1, 0.0, 1.0, fast=0.46)['turning_close'])  # 0.41 to 0.51
        self.assertFalse(self.scored(0.1, 0.0, 1.0, fast=0.44)['turning_close'])


class Flips(unittest.TestCase):
    def test_one_to_one_within_two_ms_in_motion(self):
        t = truth(flips=[1.0, 1.01, 1.02, 6.0], moving=[(0.0, 5.0)])
        row = score.score_flips(t, measured(flips=[1.001, 1.0015, 1.0225, 6.0]))
        self.assertAlmostEqual(row['flip_recall'], 1 / 3)
        self.assertAlmostEqual(row['flip_precision'], 1 / 3)
        self.assertAlmostEqual(row['flip_ms'], 1)

    def test_count_runs_evenly_between_flips(self):
        # 72/s is 18 a quarter of a second, wherever it begins
        t = truth(flips=[k / 72 for k in range(720)])
        self.assertAlmostEqual(score.true_unique_rate(t, [(1.003, 1.128), (1.2, 1.325)]), 72)


class Curve(unittest.TestCase):
    def holds(self, theta, **figures):
        return score.interval_holds({'v50': None, 'v50_low': None, 'v50_high': None, 'bound': 'none', 'bound_at': None}
                                    | figures, theta)

    def test_interval_and_bounds(self):
        self.assertTrue(self.holds(60, v50=50, v50_low=40, v50_high=None))
        self.assertFalse(self.holds(60, v50=50, v50_low=40, v50_high=59))
        self.assertTrue(self.holds(60, bound='above', bound_at=50))
        self.assertFalse(self.holds(60, bound='below', bound_at=50))
        self.assertTrue(self.holds(None, bound='above', bound_at=50))  # a take that never trips
        self.assertFalse(self.holds(None, v50=50))
        self.assertIsNone(self.holds(60))


if __name__ == '__main__':
    unittest.main()
