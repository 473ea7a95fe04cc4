//! When a survey is read again. In: what the system says of its files, look by look. Out: when to
//! rebuild, and what of the outcome is shown.
//!
//! A save is over once two looks in a row find the same; what then has errors may be half written
//! all the same, and is tried once more before its faults are shown.
//! Left out: files, threads, clocks (`cli` and `window`).

/// What one look asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Nothing.
    Rest,
    /// Reading everything again.
    Rebuild,
    /// Saying that the survey is gone.
    TellGone,
}

/// What is shown of an outcome.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shows {
    /// It.
    Outcome,
    /// Nothing yet: it is tried again.
    Nothing,
}

/// Where following stands; `S` is what the system says of the files.
#[derive(Clone, Debug)]
pub struct Follow<S> {
    /// As they were when they were last read.
    read: Option<S>,
    /// As they were at the last look.
    seen: Option<S>,
    /// Whether what was read last had errors and has not been tried again.
    doubted: bool,
    gone: bool,
}

impl<S: PartialEq + Clone> Follow<S> {
    /// Follows files that were read when they were like this.
    pub fn from(read: Option<S>) -> Self {
        Self { seen: read.clone(), gone: read.is_none(), read, doubted: false }
    }

    /// One look; `None` where the survey is not there.
    pub fn look(&mut self, now: Option<S>) -> Step {
        let Some(now) = now else {
            let told = std::mem::replace(&mut self.gone, true);
            self.seen = None;
            return if told { Step::Rest } else { Step::TellGone };
        };
        let settled = self.seen.as_ref() == Some(&now);
        let new = self.read.as_ref() != Some(&now) || self.gone;
        self.seen = Some(now.clone());
        if !settled || !(new || self.doubted) {
            return Step::Rest;
        }
        self.gone = false;
        self.doubted = self.doubted && !new;
        self.read = Some(now);
        Step::Rebuild
    }

    /// What to show of an outcome. `after` is what the system said of the files once it was read.
    pub fn outcome(&mut self, has_errors: bool, after: Option<&S>) -> Shows {
        if after != self.read.as_ref() {
            return Shows::Nothing; // written while it was read: the next looks will tell
        }
        if has_errors && !self.doubted {
            self.doubted = true;
            return Shows::Nothing;
        }
        self.doubted = false;
        Shows::Outcome
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_save_is_read_once_it_is_over() {
        let mut follow = Follow::from(Some(1));
        assert_eq!(follow.look(Some(1)), Step::Rest);
        assert_eq!(follow.look(Some(2)), Step::Rest, "still being written");
        assert_eq!(follow.look(Some(3)), Step::Rest, "still being written");
        assert_eq!(follow.look(Some(3)), Step::Rebuild);
        assert_eq!(follow.outcome(false, Some(&3)), Shows::Outcome);
        assert_eq!(follow.look(Some(3)), Step::Rest);
    }

    #[test]
    fn errors_are_told_at_the_second_try() {
        let mut follow = Follow::from(Some(1));
        follow.look(Some(2));
        assert_eq!(follow.look(Some(2)), Step::Rebuild);
        assert_eq!(follow.outcome(true, Some(&2)), Shows::Nothing);
        assert_eq!(follow.look(Some(2)), Step::Rebuild, "tried again");
        assert_eq!(follow.outcome(true, Some(&2)), Shows::Outcome);
        assert_eq!(follow.look(Some(2)), Step::Rest, "and then no more");
    }

    #[test]
    fn a_half_written_file_never_shows_its_faults() {
        let mut follow = Follow::from(Some(1));
        follow.look(Some(2));
        assert_eq!(follow.look(Some(2)), Step::Rebuild);
        assert_eq!(follow.outcome(true, Some(&3)), Shows::Nothing, "written while it was read");
        assert_eq!(follow.look(Some(3)), Step::Rest);
        assert_eq!(follow.look(Some(3)), Step::Rebuild);
        assert_eq!(follow.outcome(false, Some(&3)), Shows::Outcome);
    }

    #[test]
    fn a_folder_that_goes_is_told_once_and_read_when_it_is_back() {
        let mut follow = Follow::from(Some(1));
        assert_eq!(follow.look(None), Step::TellGone);
        assert_eq!(follow.look(None), Step::Rest);
        assert_eq!(follow.look(Some(1)), Step::Rest);
        assert_eq!(follow.look(Some(1)), Step::Rebuild, "the same files, back again");
    }
}
