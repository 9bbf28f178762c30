# Groups of methods and their comparison.

methods-title = Groups of methods in round { $code }
methods-link = Groups of methods
methods-lead = How laboratories that worked alike reported, one question on the method at a time. No group of fewer than { $smallest } laboratories is shown; smaller ones stand together as “other”.
methods-caution = A difference between groups of methods is an observation. It is no proof that one method is right and another wrong: the groups were not drawn by lot and differ in more than the method.
methods-no-evaluation = There is no evaluation yet. The groups are made from one.
methods-no-answers = No laboratory answered the questions on its method, so there are no groups.
methods-factors = Questions that make groups
methods-factor-method = Method as a whole
methods-who = Who worked how: { $factor }
methods-none-shown = No answer was given by { $smallest } laboratories, so none is shown.
methods-laboratories =
    { $count ->
        [one] { $count } laboratory
       *[other] { $count } laboratories
    }
methods-group-number = Group { $number }
methods-not-stated = Not stated
methods-other = Other
methods-together =
    { $count ->
        [one] One pair of answers goes together
       *[other] { $count } pairs of answers go together
    }
methods-together-wholly = { $one } and { $other }: the same laboratories
methods-together-mostly = { $one } and { $other }: mostly the same laboratories
methods-together-means = Where answers go together, a difference cannot be put down to one of them.
methods-answer = { $question } “{ $answer }”
methods-nothing-compared = No group of this table can be compared with the others.
methods-found =
    { $comparisons ->
        [one] One comparison was made;
       *[other] { $comparisons } comparisons were made;
    } { $differing ->
        [0] none shows a difference.
        [one] one shows a difference.
       *[other] { $differing } show a difference.
    }
methods-csv = This question in all items, as CSV
methods-table = Groups and their differences
methods-group = Group
methods-false-negatives = False neg.
methods-median = Median
methods-difference = Difference
methods-interval-heading = 95 % interval
methods-interval = { $low } to { $high }
methods-differs = difference
methods-why-other-line = See the other group
methods-why-few = Fewer than five values on one side
methods-why-censored = More than a quarter below a limit on one side
methods-why-sigma = No σₚₜ to measure with
methods-few-results = Fewer than { $smallest } results count, so nothing is shown.
methods-small-groups = Only one group is large enough, or the table beside the others would tell of fewer than { $smallest } laboratories.
methods-legend = n: laboratories whose result counts; <: of these, below a limit; false neg.: of these, “<” that contradict the assigned value. Median and s* (Algorithm A) of the values, where { $smallest } or more stand behind them. Difference: the median of all differences between a value of the group and one of all other laboratories (Hodges–Lehmann), in σₚₜ, with its 95 % interval. p: Wilcoxon’s rank sum test, two-sided, by Holm’s correction over all comparisons of this table; below 0.05 it is called a difference.
methods-smallest = Smallest group
methods-smallest-label = Fewest laboratories in a group that is shown
methods-smallest-hint = A whole number from 4 to 10. It stands from publication on: tables for two limits together would tell more than either.
methods-smallest-button = Set it
methods-smallest-range = Type a whole number from { $from } to { $to }, not “{ $seen }”.
done-smallest-set = The smallest group is set.
event-group-limit-set = Smallest group of methods that is shown: { $detail }
file-methods = Groups of methods
file-methods-explained = difference, low and high in σₚₜ; p_holm by Holm’s correction over the comparisons of an item. Differences between groups are observations, no proof of a better method: the groups were not drawn by lot.
