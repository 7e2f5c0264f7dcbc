"""The sources checks cite: kind and title, never a brand; the key tells them apart."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One publication or page; two keys are two independent publications."""

    key: str
    kind: str
    title: str

    def cited(self, clause: str = "") -> str:
        """Return "kind: title, clause"."""
        place = f", {clause}" if clause else ""
        return f"{self.kind}: {self.title}{place}"


def _source(key: str, kind: str, title: str) -> Source:
    return Source(key=key, kind=kind, title=title)


ARMY = "army technical manual"
TM_TRUCK = _source("tm-5-4210", ARMY, "US Army TM 5-4210-230-14&P-1, truck, battery section")
TM_ROLLER = _source("tm-5-1185", ARMY, "US Army TM 5-1185, roller, battery section")
TM_AUTOMOTIVE = _source("tm-9-8000", ARMY, "US Army TM 9-8000, principles of automotive vehicles")
TM_STORAGE = _source("tm-9-6140", ARMY, "US Army TM 9-6140-200-14, lead-acid storage batteries")
TM_TRACTION = _source("tm-10-6140", ARMY, "US Army TM 10-6140-200-14, motive-power batteries")
TM_LIFT = _source("tm-10-3930-621", ARMY, "US Army TM 10-3930-621-12, fork lift")
TM_LIFT_DIESEL = _source("tm-10-3930-671", ARMY, "US Army TM 10-3930-671-24, diesel lift truck")
TM_WATER = _source("tm-5-3820", ARMY, "US Army TM 5-3820-256-24-4, battery section")
TM_LOADER = _source("tm-5-3805", ARMY, "US Army TM 5-3805-262-20, loader")
TM_PAVER = _source("tm-5-3895", ARMY, "US Army TM 5-3895-382-24, alternator check")
ORDNANCE = _source("od1002", "army course", "US Army Ordnance course OD1002, tropical climates")
MAGAZINE = _source("ps-magazine", "army maintenance magazine", "TB 43-PS series, batteries in cold")

BATTERY_QA = _source(
    "battery-maker-qa", "trade Q&A page", "What effect do cold temperatures have on car batteries?"
)
GARAGE_CHART = _source("garage-chart", "garage site", "battery replacement, power chart")
COLD_BLOG = _source("cold-blog", "motoring blog", "cold cranking, quoting a workshop site")
CLUB_TIP = _source("club-tip", "car club technical tip", "cold weather starting, note 889")
COLD_SERVICE = _source("cold-service", "garage site", "cold-weather starting demand")
STARTER_BOOK = _source("starter-textbook", "textbook page", "starter current test limits")
STARTING_LESSON = _source("starting-lesson", "college lesson", "starting system of engines")
RETAIL_CCA = _source("retail-cca", "battery retailer", "cold cranking current by engine size")
SAE_MANUAL = _source(
    "sae-j537-quoted", "workshop manuals of 1997 and 1999 cars", "battery rating, SAE J537"
)
LEXICON = _source("maker-lexicon", "battery maker's lexicon", "cold test current, EN 50342-1")
NORM_FORUM = _source("din-forum", "forum quote of a standard", "DIN 43539-2, cold test")

MAKER_TABLE = _source("maker-soc-table", "battery maker's FAQ", "state of charge table, FAQ 120")
OPEN_TABLE = _source(
    "open-soc-table", "open data table (MIT licence)", "voltage and gravity against temperature"
)
HANDY_TABLE = _source("handy-soc-table", "charger seller's page", "vehicle battery, voltage bands")
OWNER_MANUAL = _source(
    "owner-manual-agm", "owner manual of an off-road vehicle", "AGM charge bands"
)
TRUCK_SELLER = _source("truck-battery-seller", "battery seller's page", "truck batteries, storage")
CHARGE_MANUAL = _source(
    "charge-manual", "workshop manual of a 2002 van", "battery charge time table"
)
GRAVITY_RULE = _source("gravity-rule", "trade article", "lead-acid battery specific gravity")
COLD_STUDY = _source(
    "cold-study", "university study, open data", "freezing lead-acid batteries (12 V 9 Ah AGM)"
)
SULZER = _source(
    "sulzer-2019", "paper with open data (BSD-3)", "Sulzer et al. 2019, faster lead-acid battery"
)
LFP_CURVE = _source("lfp-curve", "open firmware header (Apache-2.0)", "battery voltage curve, LFP")

IEEE_485 = _source("ieee-485-note", "sizing-program note", "temperature factors of IEEE 485")
VRLA_PAGE = _source("vrla-page", "VRLA maker's support page", "capacity against temperature")
AGM_FAQ = _source("agm-faq", "AGM maker's FAQ", "capacity correction by temperature")
DEEP_FAQ = _source("deep-faq", "deep-cycle maker's FAQ (copy)", "capacity and charging in the cold")
OPEN_CORE = _source(
    "open-core", "national laboratory's open simulation core", "lead-acid battery test inputs"
)
RESERVE_PAGE = _source("reserve-page", "battery seller's page", "Reserve capacity")
CHARGER_MANUAL = _source(
    "charger-manual", "charger manuals", "worked example, reserve capacity 120"
)
DRAIN_BULLETIN = _source(
    "drain-bulletin", "vehicle maker's bulletin quoted in a forum", "battery parasitic drain"
)
POWER_BOOK = _source("power-textbook", "textbook", "starting batteries, 10.2.3.c reserve capacity")
VEHICLE_LABELS = _source(
    "vehicle-labels",
    "labels and service texts of vehicles",
    "capacity, cranking and reserve printed",
)
START_STOP_SHEET = _source(
    "start-stop-sheet", "vehicle technical text", "start-stop batteries, two sizes"
)
ALLOY_BOOK = _source(
    "alloy-handbook", "battery handbook page", "self-discharge by alloy, service life"
)

LABEL_CARS = _source("label-cars", "vehicle label and service text", "one battery of three models")
LABEL_US = _source("label-us", "vehicle label", "2002 and 2004 cars, North America")
LABEL_SERVICE = _source("label-service", "vehicle service text", "calcium battery")
LABEL_CODE = _source("label-code", "comment in public code", "label of a calcium battery")
AGM_SELLER = _source("agm-seller", "battery seller's knowledge page", "charge from rest voltage")
AGM_HOUR = _source(
    "agm-charge-hour", "marine electrician's test page (2016)", "how fast an AGM battery charges"
)
AGM_EFFICIENCY = _source(
    "agm-coulombic",
    "abstract of a laboratory study",
    "charge efficiency of a sealed spiral battery",
)
AGEING_LESSON = _source(
    "ageing-lesson", "battery trade school page", "capacity and resistance as part of ageing"
)
CAMPER_CHART = _source(
    "camper-chart", "motor caravan page", "charge chart of a typical AGM battery"
)
AGM_SUPPORT = _source("agm-support", "battery maker's support page", "self-discharge of AGM")
FLOODED_FAQ = _source("flooded-faq", "battery maker's FAQ", "self-discharge, worked example")
SELLER_RANGE = _source("seller-range", "battery seller's page", "self-discharge, 3 to 20 % a month")
SMALL_BATTERY_MANUAL = _source(
    "small-battery-manual", "motorcycle battery maker's manual", "days until empty in store"
)
STANDBY_SHEET = _source("standby-sheet", "data sheet", "standby AGM 12 V 9 Ah, self-discharge")
LFP_SAILOR = _source("lfp-sailor", "sailing technical site", "lithium batteries, self-discharge")
LFP_SELLER = _source("lfp-seller", "battery seller's page", "lithium capacity in the cold")
CAR_MANUAL_1997 = _source(
    "manual-1997", "workshop manual of a 1997 truck", "battery in storage, freezing"
)

WIRE_STANDARD = _source("astm-b258", "page quoting ASTM B258", "AWG diameters")
WIRE_TABLES = _source("awg-tables", "printed wire tables, two sites", "AWG resistance at 20 °C")
COPPER_NOTE = _source("nbs-31", "note quoting NBS Circular 31", "annealed copper standard")
COPPER_TRADE = _source("iec-60028", "page on IEC 60028", "commercial copper against temperature")
IEC_60228 = _source(
    "iec-60228", "two cable makers' tables of IEC 60228", "class 5 conductors, plain"
)
VDE_0295 = _source("vde-0295", "cable maker's data sheet", "VDE 0295 class 5/6, 0.34 mm²")
TOWING_CABLE = _source("towing-cable", "towing-wiring supplier", "thin-strand automotive cable")
CABLE_CHART = _source("cable-chart", "cable size chart", "1.5 mm² thin-wall")
FUSE_CHART = _source("fuse-chart", "training site", "voltage drop over fuses, 10 A medium blade")
FUSE_FORUM = _source("fuse-forum", "instrument maker's forum post", "15 A medium blade fuse")
FUSEOLOGY = _source("fuseology", "component maker's fuse guide", "continuous load")
ALTERNATOR_LINE = _source(
    "alternator-line", "workshop manual of a 2018 small car", "charging system"
)

LTE_BOARD = _source(
    "lte-board", "measured currents of a broadband LTE board", "3.7 V, connect, send"
)
LTE_BIS = _source("lte-bis", "module maker's notes", "broadband LTE module, low power, heartbeat")
NARROW_KIT = _source("narrow-kit", "open project, measured", "LTE-M and NB-IoT client power")
GPP_45820 = _source("tr-45820", "textbook quoting 3GPP TR 45.820", "battery life, 5 Wh")
SECOND_GEN = _source("second-gen", "hardware manual of a 2G module", "V2.02, current table 49")
NARROW_MODULE = _source(
    "narrow-module", "board wiki quoting hardware design", "LTE-M module currents"
)
LTE_TAIL = _source("lte-tail", "paper extract", "LTE inactivity tail, network set")
GNSS_SHEET = _source("gnss-sheet", "maker's data sheet of a satellite receiver module", "3.0 V")
GNSS_GUIDES = _source("gnss-guides", "receiver board guides, four boards", "time to first fix")
GNSS_WARM = _source("gnss-warm", "open project discussion", "warm start after days off")
IS_GPS = _source("is-gps-200", "interface specification IS-GPS-200", "20.3.3.5, ephemeris")

SEDAN_2008 = _source("sedan-2008", "workshop manual of a 2008 sedan", "parasitic draw")
COMPACT_2009 = _source("compact-2009", "workshop manual of a 2009 compact", "wake-up and sleep")
SMALL_1995 = _source("small-1995", "workshop manual of small cars 1995-2002", "dark current")
SUV_2004 = _source("suv-2004", "workshop manual of a 2004 SUV", "parasitic draw test")
TRADE_RULE = _source("trade-rule", "trade notes", "key-off battery drain, one hour after shut-off")
TRADE_PRESS = _source("trade-press", "trade press", "parasitic drain, 25 to 50 mA")
TRAINING_SITE = _source("training-site", "training site", "parasitic drain")
TRAINING_2021 = _source(
    "training-2021", "training institute 2021", "key-off current of older and newer cars"
)
DRAIN_ARTICLE = _source(
    "drain-article", "trade article 2014", "key-off drain, two 2010-11 vehicles"
)
POLICE_GUIDE = _source("police-guide", "police vehicle upfitting guide 2009", "quiescent current")
TRUCK_LIFE = _source("truck-life", "battery maker's page", "prolonging commercial battery life")
BATTERY_FAQ = _source("battery-faq", "battery FAQ, two editions", "headlights left on")
MARINE_MANUAL = _source("marine-manual", "marine engine manual", "charging, technical data")
CAR_2021 = _source("car-2021", "workshop manual of a 2021 car", "alternator, internal mode")
CHARGER_PAGE = _source(
    "charger-page", "charger seller's page", "charging end voltage by temperature"
)
IDLE_COLUMN = _source("idle-column", "textbook author's column", "alternator output at idle")
CAR_1997_ALTERNATOR = _source(
    "alternator-1997", "workshop manual of a 1997 six-cylinder car", "charging system output"
)
FEDERAL_BATTERY = _source(
    "federal-battery", "federal purchase description", "A-A-55439A, storage batteries, automotive"
)
SUN_DE = _source(
    "sun-de", "solar press quoting the weather service", "global radiation over Germany, by month"
)
EFFICIENCY_PAGE = _source("efficiency-page", "motorcycle site, copied text", "charge efficiency")
NORMALS_CA = _source("normals-ca", "official climate normals", "Winnipeg 1971-2000")
TEST_YEARS_DE = _source("try-de", "German test reference year 2010", "Potsdam, region 4, hourly")
TYPICAL_US = _source("tmy-us", "typical year TMY3", "Greensboro NC, hourly")
CITIES = _source(
    "cities-table", "open table (CC BY 4.0)", "monthly means of 270 cities, 1981-2010, CHELSA 2.1"
)
CONTINENTALITY = _source(
    "continentality", "textbook chapter", "climate of middle and high latitudes, continentality"
)

KINETIC_LIBRARY = _source(
    "lib-kinetic", "open library", "NREL-PySAM stateful battery, kinetic model"
)
PHYSICS_LIBRARY = _source("lib-physics", "open library", "pybamm, lead-acid models, Sulzer2019 set")
OIL_NEWS = _source("oil-news", "news article 2024", "lowest start by oil grade")
OIL_FORUM = _source("oil-forum", "forum quotation", "typical viscosity of engine oils in the cold")
OWNER_OIL = _source("owner-oil", "five owner manuals of one car maker", "engine oil, cold weather")
OIL_CHART = _source("oil-chart-1982", "owner-manual chart of 1982", "crankcase oil by temperature")
SIX_OILS = _source(
    "six-oils", "engineering paper, abstract", "six oils in a two-litre diesel, cold"
)
JEEP_TRIALS = _source(
    "jeep-trials", "defence science journal 1988", "starting trials in a cold chamber"
)
SYNTHETIC_DIESEL = _source(
    "synthetic-diesel", "engineering paper of 1989, abstract", "arctic oil in heavy diesels"
)
CONTACTOR_SHEET = _source("contactor-sheet", "data sheet", "contactor for electric vehicles, 135 A")
SMALL_LABELS = _source("small-labels", "battery seller's tables", "labels of 4 to 18 Ah batteries")
CYCLE_ADVICE = _source(
    "cycle-advice", "advice pages", "motorcycles: cranking current, starter load"
)
CYCLE_WORKSHOP = _source(
    "cycle-workshop", "question-and-answer page", "motorcycles measured in a repair shop"
)
HEAVY_STARTER = _source(
    "heavy-starter", "construction-equipment trade article", "testing a starting system, 24 V"
)
CYCLE_OWNER = _source(
    "cycle-owner", "owner's measurement", "starter of a 0.8 l twin, cold and warm"
)
VOLTAGE_RULE = _source(
    "voltage-rule-2012", "article of 2012", "a rule of thumb for estimating battery charge"
)
REST_PAGE = _source("rest-page", "battery trade page", "measuring charge by voltage at rest")
POLAR_STATION = _source(
    "polar-station", "open data of a polar station network", "battery voltage, hourly and daily"
)
FIRMWARE_THREADS = _source(
    "firmware-threads", "open firmware issue threads", "measuring the supply voltage"
)
OWN_MEMORY = _source("memory", "from memory", "no document at hand")
PRACTICE_ONLY = _source("practice", "common practice", "no source")
