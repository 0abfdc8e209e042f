package caution

import (
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
)

// Limits of the launch margin. They belong to the model that gives it, in which
// builds that shaft makers' charts approve land between about 0.85 and 1.15
// (common practice).
const (
	// FoldsBelow is the margin below which a shaft may break at launch.
	FoldsBelow = 0.70
	// WeakBelow is the margin below which a fitter should have a look.
	WeakBelow = 0.85
	// StiffAbove is the margin above which a heavy bow's arrow is told of as stiff.
	StiffAbove = 1.30
	// Against a proven build, as shares of its margin.
	weakerBy  = -0.10
	stifferBy = 0.30
)

// StiffFromPeak and StiffFromDraw are the peak weight and draw length from which a
// stiff arrow is told of: shafts for lighter bows are not made weak enough to be
// otherwise.
const (
	StiffFromPeak = 45 * unit.PoundForce
	StiffFromDraw = 27 * unit.Inch
)

const beforeShooting = "Have a fitter check it against the shaft maker's chart before it is shot"

// spine judges how the shaft stands up to the bow: against the build proven on
// it where there is one, else by the margin itself. A release with the fingers
// pushes the string aside, which the margin knows nothing of: then only the
// proven build can tell weak from stiff.
func (c *checker) spine() {
	margin, ok := c.Figure(figure.LaunchMargin)
	if !ok {
		c.lacking(Folds, "whether the shaft is far too weak for the bow", figure.LaunchMargin)
		return
	}
	c.close(Folds, margin, FoldsBelow)
	if margin.Value < FoldsBelow {
		c.add(Folds, Danger, "Launch margin %s is below %s: badly underspined. A shaft that breaks at launch injures. Do not shoot it: choose a stiffer shaft by its maker's chart.",
			c.plusMinus(margin), c.measure(FoldsBelow, unit.Number))
		return
	}
	heavyBow := c.bow.Peak.Value >= StiffFromPeak && c.bow.Draw.Value >= StiffFromDraw
	against, compared := c.Figure(figure.MarginVsProven)
	switch {
	case c.Shot:
	case compared:
		c.close(Weak, against, weakerBy)
		c.close(Stiff, against, stifferBy)
		if against.Value < weakerBy {
			c.add(Weak, Warn, "Launch margin is %s against %s, which is proven on this bow: more than 10 %% weaker. %s.", c.plusMinus(against), c.Proven, beforeShooting)
		}
		if against.Value > stifferBy {
			c.add(Stiff, Note, "Launch margin is %s against %s, which is proven on this bow: more than 30 %% stiffer. Harder to tune, more so with a broadhead; in itself no hazard.", c.plusMinus(against), c.Proven)
		}
	case c.bow.ReleaseOrDefault() == bow.Fingers:
		c.unchecked(Weak, "whether the shaft is weak or stiff for a release with the fingers", "a build that is proven on this bow")
	case margin.Value < WeakBelow:
		c.close(Weak, margin, WeakBelow)
		c.add(Weak, Warn, "Launch margin %s is below %s: the shaft may be too weak for this bow. One step of spine is worth about 0.15, so the number screens, no more. %s.",
			c.plusMinus(margin), c.measure(WeakBelow, unit.Number), beforeShooting)
	case heavyBow && margin.Value > StiffAbove:
		c.close(Stiff, margin, StiffAbove)
		c.add(Stiff, Note, "Launch margin %s is above %s: stiffer than charts usually ask for. Harder to tune, more so with a broadhead; in itself no hazard.", c.plusMinus(margin), c.measure(StiffAbove, unit.Number))
	default:
		c.close(Weak, margin, WeakBelow)
		if heavyBow {
			c.close(Stiff, margin, StiffAbove)
		}
	}
}

// MostHeadShare is how much of the vanes' steering blades may undo before a head
// may plane.
const MostHeadShare = 0.50

// steering judges whether blades in front are kept behind the point.
func (c *checker) steering() {
	h := &c.Build.Head
	if h.Blades == 0 {
		return
	}
	steer, ok := c.Figure(figure.SteerMargin)
	if !ok {
		c.lacking(Unstable, "whether the arrow turns over in flight", figure.SteerMargin)
		return
	}
	c.close(Unstable, steer, 0)
	if steer.Value <= 0 {
		mend := "use more vane or a narrower head"
		if v := c.Build.Vanes; !v.Given || v.Value.Count == 0 {
			mend = "fit vanes"
		}
		c.add(Unstable, Danger, "Steer margin %s: with this head in front and so little behind to steer it the arrow turns over in flight and goes astray. Do not shoot it: %s.", c.plusMinus(steer), mend)
		return
	}
	share, ok := c.Figure(figure.HeadShare)
	if !ok {
		return
	}
	c.close(Plane, share, MostHeadShare)
	if share.Value > MostHeadShare {
		c.add(Plane, Warn, "The blades undo %s of the vanes' steering: the head may plane. Prove it at distance against field points before you rely on it.", c.plusMinus(share))
	}
}
