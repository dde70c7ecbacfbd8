//! In debug builds and tests the audio thread may not allocate: whoever does is stopped.

#[cfg(debug_assertions)]
#[global_allocator]
static ALLOCATOR: assert_no_alloc::AllocDisabler = assert_no_alloc::AllocDisabler;

/// Runs the body of an audio callback. Memory taken or given back in it ends a debug build; in
/// a release build this is the body and nothing else.
#[inline]
pub fn guarded<T>(body: impl FnOnce() -> T) -> T {
    assert_no_alloc::assert_no_alloc(body)
}
