// Several numbers made one, and those picked that lie around a time.

// The mean of the middle half: one wrong value among three is outvoted.
function middle(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const cut = sorted.length < 3 ? 0 : Math.max(1, sorted.length >> 2);
  const kept = sorted.slice(cut, sorted.length - cut);
  return kept.reduce((sum, value) => sum + value, 0) / kept.length;
}

// The `count` of `sorted` around a time: half of them before it, where there are so many.
function around(sorted, time, count) {
  const later = sorted.findIndex((one) => one.time >= time);
  const at = later < 0 ? sorted.length : later;
  const from = Math.max(0, Math.min(at - (count >> 1), sorted.length - count));
  return sorted.slice(from, from + count);
}
