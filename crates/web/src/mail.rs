//! Messages by mail: what an action queues in its transaction, to be sent after it.

/// Whether messages are queued: made by [`crate::state::App::post`] and handed
/// to the actions that have something to tell.
#[derive(Clone, Debug)]
pub struct Post(());

impl Post {
    /// Queues nothing: no mail is set up.
    pub fn none() -> Post {
        Post(())
    }
}
