//! What the spellings name: the tables of a logbook, their columns, the keys of the About table, and a few words.

macro_rules! names {
    ($(#[$doc:meta])* $seen:vis enum $type:ident { $($variant:ident $name:literal,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "each is the thing of that name")]
        $seen enum $type { $($variant,)* }

        impl $type {
            /// All of them.
            $seen const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The canonical name.
            $seen fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }
        }
    };
}

names! {
    /// The tables of a logbook, in the order of a blank one.
    pub enum TableKind {
        About "About",
        Measures "Measures",
        Sessions "Sessions",
        Trials "Trials",
        Technique "Technique",
        Claims "Claims",
    }
}

names! {
    /// What a column of a table holds.
    pub enum Field {
        Pair "pair",
        Coach "coach",
        Learner "learner",
        Session "session",
        Date "date",
        Week "week",
        Phase "phase",
        Block "block",
        Trial "trial",
        Measure "measure",
        Score "score",
        X "x",
        Y "y",
        Condition "condition",
        Rater "rater",
        Estimate "estimate",
        Notes "notes",
        LearningStage "learning stage",
        Minutes "minutes",
        Order "order",
        Variety "variety",
        Part "part",
        Feedback "feedback",
        FeedbackPercent "feedback %",
        Content "content",
        TrialCount "trials",
        Kind "kind",
        Unit "unit",
        Better "better",
        Lowest "lowest",
        Highest "highest",
        Step "step",
        Target "target",
        Scale "scale",
        Element "element",
        Rating "rating",
        Observer "observer",
        Statistic "statistic",
        Versus "versus",
        Value "value",
        Where "where",
    }
}

names! {
    /// The keys of the About table.
    pub enum AboutKey {
        Pair "pair",
        Coach "coach",
        Learner "learner",
        Skill "skill",
        Start "start",
        End "end",
        StageBefore "stage before",
        StageAfter "stage after",
        StageReason "stage reason",
        Theory "theory",
        TheoryReason "theory reason",
        Experience "experience",
        NovelContext "novel context",
        LearningClaimed "learning claimed",
        Consent "consent",
        Screening "screening",
    }
}

names! {
    /// What a number in a header or label counts.
    pub(crate) enum Counted {
        Trial "trial",
        Session "session",
        Week "week",
        Rater "rater",
    }
}

names! {
    /// Words in score cells that are no numbers: for what was not attempted or not recorded, and for a result whose number is the course's to say.
    pub(crate) enum CellWord {
        Missing "missing",
        Result "result",
    }
}
