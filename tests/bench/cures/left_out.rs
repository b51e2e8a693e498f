//! Weights of the shapes that `tests/reference/cure_prior.py` finds without the truths of one kind.

use evenfield::trials::rise::Prior;

pub const LOG_LOGISTIC: Prior = Prior {
    powers: [0.8, 1.5, 0.2, -0.5, -1.5, -0.9, 0.8, 0.0],
    tails: [-2.4, 0.2, 1.4, -1.0, 1.9],
    delays: [2.4, 0.1, -1.3, -1.3],
    slow: [1.4, -1.3],
};

pub const THRESHOLD: Prior = Prior {
    powers: [0.6, 1.9, 0.3, -0.8, -0.9, -1.1, 0.5, 0.0],
    tails: [-2.5, 0.6, 1.3, -0.9, 1.6],
    delays: [2.3, 0.1, -1.2, -1.3],
    slow: [1.0, -0.5],
};

pub const SECOND_ORDER: Prior = Prior {
    powers: [0.6, 1.7, 0.3, -0.9, -1.2, -1.0, 1.0, 0.0],
    tails: [-2.5, 0.6, 1.2, -0.9, 1.6],
    delays: [1.6, 0.9, -1.3, -1.3],
    slow: [0.9, -0.4],
};

pub const FIRST_ORDER: Prior = Prior {
    powers: [0.2, 1.9, 0.8, 0.0, -1.1, -1.2, -0.2, 0.0],
    tails: [-3.0, 1.2, 1.9, -0.4, 0.4],
    delays: [1.7, 0.2, -1.1, -0.9],
    slow: [1.0, -1.2],
};

pub const TWO_RATES: Prior = Prior {
    powers: [1.1, 1.4, 0.1, -0.8, -0.9, -1.2, 0.7, 0.0],
    tails: [-2.3, 0.4, 1.3, -0.9, 1.7],
    delays: [1.7, 1.0, -1.4, -1.4],
    slow: [0.8, -0.1],
};

pub const FRECHET: Prior = Prior {
    powers: [0.9, 1.7, 0.4, -1.1, -1.2, -1.0, 0.7, 0.0],
    tails: [-2.5, 0.7, 0.9, -0.8, 1.9],
    delays: [1.9, 0.5, -1.3, -1.2],
    slow: [0.9, -0.4],
};

pub const LOG_NORMAL: Prior = Prior {
    powers: [0.6, 1.6, 0.3, -0.8, -1.2, -0.9, 0.8, 0.0],
    tails: [-2.5, 0.6, 1.2, -0.9, 1.6],
    delays: [2.2, 0.3, -1.3, -1.3],
    slow: [0.9, -0.4],
};
