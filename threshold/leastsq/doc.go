// Package leastsq fits models that are linear in all their parameters but at
// most one, by separable least squares.
//
// A model is y_i ≈ offset_i(θ) + Σ_j c_j·column_ij(θ). For any θ the c_j follow
// in closed form, so only θ is searched, over a stated range: first by a scan
// that finds every valley of the profile, then by root finding on the slope of
// the profile in the deepest ones. The result is the global least within the
// scan's resolution, exact to rounding, with no starting values to choose.
//
// Sources: G. H. Golub and V. Pereyra, "The differentiation of pseudo-inverses
// and nonlinear least squares problems whose variables separate", SIAM J.
// Numer. Anal. 10 (1973) 413-432; L. Kaufman, BIT 15 (1975) 49-57, for the slope
// and curvature used; Å. Björck, BIT 7 (1967) 1-21, for solving by modified
// Gram-Schmidt, which needs no workspace beyond the columns themselves.
package leastsq
