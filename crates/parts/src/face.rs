//! Names of the faces and corners that parts touch with.

use plane::Label;

macro_rules! faces {
    ($($(#[$doc:meta])* $name:ident = $word:literal,)*) => {
        /// A face or corner of a part.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum Face { $($(#[$doc])* $name,)* }

        impl Face {
            const ALL: &[Face] = &[$(Face::$name,)*];

            /// The trade's words for it.
            pub fn name(self) -> &'static str {
                match self { $(Face::$name => $word,)* }
            }
        }
    };
}

faces! {
    /// Front of a tooth, below the toe.
    ToothFront = "tooth front",
    /// Locking corner of a tooth.
    Toe = "toe",
    /// Impulse face of a tooth.
    ToothImpulse = "tooth impulse face",
    /// Letting-off corner of a tooth.
    Heel = "heel",
    /// Straight back of the heel.
    HeelBack = "back of the heel",
    /// Curved back of a tooth.
    ToothBack = "tooth back",
    /// Rim between two teeth.
    Root = "rim",
    /// Locking face of a stone.
    StoneLocking = "locking face",
    /// Locking corner of a stone.
    LockingCorner = "locking corner",
    /// Impulse face of a stone.
    StoneImpulse = "impulse face",
    /// Let-off corner of a stone.
    LetOffCorner = "let-off corner",
    /// Back of a stone, on the let-off side.
    StoneBack = "stone back",
    /// Inner end of a stone, in its slot.
    StoneTop = "stone end",
    /// Side of the lever bar.
    BarSide = "bar side",
    /// Outside of a horn.
    HornOutside = "outside of the horn",
    /// End of a horn.
    HornTip = "horn tip",
    /// Inner curve of a horn.
    Horn = "horn",
    /// Corner between notch and horn.
    NotchCorner = "notch corner",
    /// Wall of the notch.
    NotchWall = "notch wall",
    /// Bottom of the notch.
    NotchFloor = "notch bottom",
    /// End of the bar at the pallets.
    BarEnd = "bar end",
    /// Tip of the guard.
    GuardTip = "guard tip",
    /// Side of the guard.
    GuardSide = "guard side",
    /// Impulse jewel: its curved side.
    JewelRound = "jewel",
    /// Impulse jewel: its flat.
    JewelFlat = "jewel flat",
    /// Impulse jewel: a corner.
    JewelCorner = "jewel corner",
    /// Edge of the safety roller.
    RollerEdge = "roller edge",
    /// Corner where the crescent begins.
    CrescentCorner = "crescent corner",
    /// Crescent.
    Crescent = "crescent",
    /// Banking.
    Banking = "banking",
}

impl From<Face> for Label {
    fn from(face: Face) -> Label {
        Label(face as u8)
    }
}

impl From<Label> for Face {
    /// # Panics
    /// When the label was not made from a face.
    fn from(label: Label) -> Face {
        Face::ALL[label.0 as usize]
    }
}
