"""Slips in reading a suction gauge, and in what to make of its reading."""

from lubberline.questions.slip import Slip, always, plus, times

GAUGE_SLIPS: dict[str, Slip] = {
    "gauge-mark-is-a-tenth": Slip(
        "I took each small mark for a tenth.",
        "On this gauge the marks are half an inch apart.",
        step="marks of the gauge",
        instead=times(0.2),
    ),
    "gauge-mark-is-an-inch": Slip(
        "I took each small mark for an inch.",
        "On this gauge the marks are half an inch apart.",
        step="marks of the gauge",
        instead=times(2.0),
    ),
    "gauge-counted-back": Slip(
        "I counted back from the figure above.",
        "Count from the figure below the needle towards the needle.",
        step="marks of the gauge",
        instead=lambda part: 1.0 - part,
    ),
    "gauge-figure-above": Slip(
        "I started from the figure above the needle.",
        "Start from the last figure that the needle has passed.",
        step="figure of the gauge",
        instead=plus(1.0),
    ),
    "gauge-figure-before": Slip(
        "I started one figure too low.",
        "Start from the last figure that the needle has passed.",
        step="figure of the gauge",
        instead=plus(-1.0),
    ),
    "high-suction-is-healthy": Slip(
        "The more suction, the better for the gyros.",
        "Above the green the regulator does not limit the suction: the rotors run too fast and wear.",
        step="suction above the green",
        instead=always("healthy"),
    ),
    "low-suction-comes-up-in-flight": Slip(
        "It will come up once we fly.",
        "At run-up power a healthy system has its full suction. If it has not, more speed does not help.",
        step="low suction at power",
        instead=always("go"),
    ),
    "low-suction-needs-power": Slip(
        "When suction is low, add power.",
        "More power helps only where the engine turns slowly. At cruise and run-up power the regulator, not "
        "the engine, limits the suction.",
        step="low suction at power",
        instead=always("power"),
    ),
    "low-suction-stops-the-gyros": Slip(
        "With so little suction the gyros have stopped.",
        "With low suction the rotors turn more slowly and drift more, but they do not stop.",
        step="low suction at power",
        instead=always("partial"),
    ),
    "zero-is-the-gauges-fault": Slip(
        "The instruments still read right, so the gauge has failed.",
        "The rotors take about ten minutes to run down, so the instruments look right at first. Believe the "
        "gauge.",
        step="suction at zero",
        instead=always("go"),
    ),
    "zero-needs-power": Slip(
        "When suction is zero, add power.",
        "A pump that moves no air at all has failed, and more power does not bring it back.",
        step="suction at zero",
        instead=always("power"),
    ),
    "below-the-green-means-the-pump": Slip(
        "Any reading below the green means a weak pump.",
        "Below the green at idle is normal. A weak pump lowers the reading at idle much further, a regulator "
        "that is set low lowers it at power.",
        step="reading below the green",
        instead=always("pump"),
    ),
    "below-the-green-means-the-filter": Slip(
        "Any reading below the green means a clogged filter.",
        "A gauge from the manifold to the cabin does not fall with a clogged filter: at idle it rises.",
        step="reading below the green",
        instead=always("filter"),
    ),
    "green-at-idle-is-best": Slip(
        "With the needle in the green even at idle, all is well.",
        "At idle a healthy pump cannot bring this gauge into the green. If it is there, the pump draws "
        "through a smaller opening: the filter is clogged.",
        step="reading in the green at idle",
        instead=always("healthy"),
    ),
    "high-at-idle-means-the-regulator": Slip(
        "A reading too high at idle means that the regulator is set too high.",
        "At idle the suction does not reach the regulator's setting, so the regulator changes nothing there.",
        step="reading in the green at idle",
        instead=always("high"),
    ),
    "idle-reading-means-a-fault": Slip(
        "The needle is below the green, so the system is faulty.",
        "At idle a healthy pump cannot bring the needle into the green. Look again with the engine faster.",
        step="reading at idle",
        instead=lambda _, flying: "watch" if flying else "back",
    ),
    "idle-reading-is-enough": Slip(
        "Any suction will do.",
        "Below the green the rotors slow down and the gyros drift more. Bring the needle into the green "
        "before you rely on them.",
        step="reading at idle",
        instead=always("go"),
    ),
    "more-than-green-by-power": Slip(
        "In the green it could still be more, so I add power.",
        "The regulator limits the suction. Anywhere in the green is normal, whatever the power.",
        step="reading in the green at power",
        instead=always("power"),
    ),
    "green-must-be-the-same-every-time": Slip(
        "The needle does not stand where it stood on my last flight.",
        "Anywhere in the green is normal; where in it depends on engine speed and height.",
        step="reading in the green at power",
        instead=lambda _, flying: "watch" if flying else "back",
    ),
    "high-suction-comes-down-in-flight": Slip(
        "It will come down once we are up.",
        "The regulator sets the suction at any height. If it lets through too much now, it will do so in "
        "flight.",
        step="suction above the green",
        instead=always("watch"),
    ),
    "high-suction-stops-the-gyros": Slip(
        "With too much suction the gyros show nothing useful any more.",
        "With too much suction the gyros still work; their rotors run too fast and wear.",
        step="suction above the green",
        instead=always("partial"),
    ),
}
