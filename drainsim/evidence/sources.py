"""The sources checks cite: kind and title, never a brand; the key tells them apart."""

from typing import NamedTuple


class Source(NamedTuple):
    """One publication or page; two keys are two independent publications."""

    key: str
    kind: str
    title: str

    def cited(self, clause: str = "") -> str:
        """Return "kind: title, clause"."""
        place = f", {clause}" if clause else ""
        return f"{self.kind}: {self.title}{place}"


ARMY = "army technical manual"
TM_TRUCK = Source("tm-5-4210", ARMY, "US Army TM 5-4210-230-14&P-1, truck, battery section")
TM_ROLLER = Source("tm-5-1185", ARMY, "US Army TM 5-1185, roller, battery section")
TM_AUTOMOTIVE = Source("tm-9-8000", ARMY, "US Army TM 9-8000, principles of automotive vehicles")
TM_STORAGE = Source("tm-9-6140", ARMY, "US Army TM 9-6140-200-14, lead-acid storage batteries")
TM_TRACTION = Source("tm-10-6140", ARMY, "US Army TM 10-6140-200-14, motive-power batteries")
TM_LIFT = Source("tm-10-3930-621", ARMY, "US Army TM 10-3930-621-12, fork lift")
TM_LIFT_DIESEL = Source("tm-10-3930-671", ARMY, "US Army TM 10-3930-671-24, diesel lift truck")
TM_WATER = Source("tm-5-3820", ARMY, "US Army TM 5-3820-256-24-4, battery section")
TM_LOADER = Source("tm-5-3805", ARMY, "US Army TM 5-3805-262-20, loader")
TM_PAVER = Source("tm-5-3895", ARMY, "US Army TM 5-3895-382-24, alternator check")
ORDNANCE = Source("od1002", "army course", "US Army Ordnance course OD1002, tropical climates")
MAGAZINE = Source("ps-magazine", "army maintenance magazine", "TB 43-PS series, batteries in cold")

BATTERY_QA = Source(
    "battery-maker-qa", "trade Q&A page", "What effect do cold temperatures have on car batteries?"
)
GARAGE_CHART = Source("garage-chart", "garage site", "battery replacement, power chart")
COLD_BLOG = Source("cold-blog", "motoring blog", "cold cranking, quoting a workshop site")
CLUB_TIP = Source("club-tip", "car club technical tip", "cold weather starting, note 889")
COLD_SERVICE = Source("cold-service", "garage site", "cold-weather starting demand")
STARTER_BOOK = Source("starter-textbook", "textbook page", "starter current test limits")
STARTING_LESSON = Source("starting-lesson", "college lesson", "starting system of engines")
RETAIL_CCA = Source("retail-cca", "battery retailer", "cold cranking current by engine size")
SAE_MANUAL = Source(
    "sae-j537-quoted", "workshop manuals of 1997 and 1999 cars", "battery rating, SAE J537"
)
LEXICON = Source("maker-lexicon", "battery maker's lexicon", "cold test current, EN 50342-1")
NORM_FORUM = Source("din-forum", "forum quote of a standard", "DIN 43539-2, cold test")

MAKER_TABLE = Source("maker-soc-table", "battery maker's FAQ", "state of charge table, FAQ 120")
OPEN_TABLE = Source(
    "open-soc-table", "open data table (MIT licence)", "voltage and gravity against temperature"
)
HANDY_TABLE = Source("handy-soc-table", "charger seller's page", "vehicle battery, voltage bands")
OWNER_MANUAL = Source("owner-manual-agm", "owner manual of an off-road vehicle", "AGM charge bands")
TRUCK_SELLER = Source("truck-battery-seller", "battery seller's page", "truck batteries, storage")
CHARGE_MANUAL = Source(
    "charge-manual", "workshop manual of a 2002 van", "battery charge time table"
)
GRAVITY_RULE = Source("gravity-rule", "trade article", "lead-acid battery specific gravity")
COLD_STUDY = Source(
    "cold-study", "university study, open data", "freezing lead-acid batteries (12 V 9 Ah AGM)"
)
SULZER = Source(
    "sulzer-2019", "paper with open data (BSD-3)", "Sulzer et al. 2019, faster lead-acid battery"
)
LFP_CURVE = Source("lfp-curve", "open firmware header (Apache-2.0)", "battery voltage curve, LFP")

IEEE_485 = Source("ieee-485-note", "sizing-program note", "temperature factors of IEEE 485")
VRLA_PAGE = Source("vrla-page", "VRLA maker's support page", "capacity against temperature")
AGM_FAQ = Source("agm-faq", "AGM maker's FAQ", "capacity correction by temperature")
DEEP_FAQ = Source("deep-faq", "deep-cycle maker's FAQ (copy)", "capacity and charging in the cold")
OPEN_CORE = Source(
    "open-core", "national laboratory's open simulation core", "lead-acid battery test inputs"
)
RESERVE_PAGE = Source("reserve-page", "battery seller's page", "Reserve capacity")
CHARGER_MANUAL = Source("charger-manual", "charger manuals", "worked example, reserve capacity 120")
DRAIN_BULLETIN = Source(
    "drain-bulletin", "vehicle maker's bulletin quoted in a forum", "battery parasitic drain"
)
POWER_BOOK = Source("power-textbook", "textbook", "starting batteries, 10.2.3.c reserve capacity")
VEHICLE_LABELS = Source(
    "vehicle-labels",
    "labels and service texts of vehicles",
    "capacity, cranking and reserve printed",
)
START_STOP_SHEET = Source(
    "start-stop-sheet", "vehicle technical text", "start-stop batteries, two sizes"
)
ALLOY_BOOK = Source(
    "alloy-handbook", "battery handbook page", "self-discharge by alloy, service life"
)

LABEL_CARS = Source("label-cars", "vehicle label and service text", "one battery of three models")
LABEL_US = Source("label-us", "vehicle label", "2002 and 2004 cars, North America")
LABEL_SERVICE = Source("label-service", "vehicle service text", "calcium battery")
LABEL_CODE = Source("label-code", "comment in public code", "label of a calcium battery")
AGM_SELLER = Source("agm-seller", "battery seller's knowledge page", "charge from rest voltage")
AGM_HOUR = Source(
    "agm-charge-hour", "marine electrician's test page (2016)", "how fast an AGM battery charges"
)
AGM_EFFICIENCY = Source(
    "agm-coulombic",
    "abstract of a laboratory study",
    "charge efficiency of a sealed spiral battery",
)
AGEING_LESSON = Source(
    "ageing-lesson", "battery trade school page", "capacity and resistance as part of ageing"
)
CAMPER_CHART = Source("camper-chart", "motor caravan page", "charge chart of a typical AGM battery")
AGM_SUPPORT = Source("agm-support", "battery maker's support page", "self-discharge of AGM")
FLOODED_FAQ = Source("flooded-faq", "battery maker's FAQ", "self-discharge, worked example")
SELLER_RANGE = Source("seller-range", "battery seller's page", "self-discharge, 3 to 20 % a month")
SMALL_BATTERY_MANUAL = Source(
    "small-battery-manual", "motorcycle battery maker's manual", "days until empty in store"
)
STANDBY_SHEET = Source("standby-sheet", "data sheet", "standby AGM 12 V 9 Ah, self-discharge")
LFP_SAILOR = Source("lfp-sailor", "sailing technical site", "lithium batteries, self-discharge")
LFP_SELLER = Source("lfp-seller", "battery seller's page", "lithium capacity in the cold")
CAR_MANUAL_1997 = Source(
    "manual-1997", "workshop manual of a 1997 truck", "battery in storage, freezing"
)

WIRE_STANDARD = Source("astm-b258", "page quoting ASTM B258", "AWG diameters")
WIRE_TABLES = Source("awg-tables", "printed wire tables, two sites", "AWG resistance at 20 °C")
COPPER_NOTE = Source("nbs-31", "note quoting NBS Circular 31", "annealed copper standard")
COPPER_TRADE = Source("iec-60028", "page on IEC 60028", "commercial copper against temperature")
IEC_60228 = Source(
    "iec-60228", "two cable makers' tables of IEC 60228", "class 5 conductors, plain"
)
VDE_0295 = Source("vde-0295", "cable maker's data sheet", "VDE 0295 class 5/6, 0.34 mm²")
TOWING_CABLE = Source("towing-cable", "towing-wiring supplier", "thin-strand automotive cable")
CABLE_CHART = Source("cable-chart", "cable size chart", "1.5 mm² thin-wall")
FUSE_CHART = Source("fuse-chart", "training site", "voltage drop over fuses, 10 A medium blade")
FUSE_FORUM = Source("fuse-forum", "instrument maker's forum post", "15 A medium blade fuse")
FUSEOLOGY = Source("fuseology", "component maker's fuse guide", "continuous load")
ALTERNATOR_LINE = Source(
    "alternator-line", "workshop manual of a 2018 small car", "charging system"
)

LTE_BOARD = Source(
    "lte-board", "measured currents of a broadband LTE board", "3.7 V, connect, send"
)
LTE_BIS = Source("lte-bis", "module maker's notes", "broadband LTE module, low power, heartbeat")
NARROW_KIT = Source("narrow-kit", "open project, measured", "LTE-M and NB-IoT client power")
GPP_45820 = Source("tr-45820", "textbook quoting 3GPP TR 45.820", "battery life, 5 Wh")
SECOND_GEN = Source("second-gen", "hardware manual of a 2G module", "V2.02, current table 49")
NARROW_MODULE = Source(
    "narrow-module", "board wiki quoting hardware design", "LTE-M module currents"
)
LTE_TAIL = Source("lte-tail", "paper extract", "LTE inactivity tail, network set")
GNSS_SHEET = Source("gnss-sheet", "maker's data sheet of a satellite receiver module", "3.0 V")
GNSS_GUIDES = Source("gnss-guides", "receiver board guides, four boards", "time to first fix")
GNSS_WARM = Source("gnss-warm", "open project discussion", "warm start after days off")
IS_GPS = Source("is-gps-200", "interface specification IS-GPS-200", "20.3.3.5, ephemeris")

SEDAN_2008 = Source("sedan-2008", "workshop manual of a 2008 sedan", "parasitic draw")
COMPACT_2009 = Source("compact-2009", "workshop manual of a 2009 compact", "wake-up and sleep")
SMALL_1995 = Source("small-1995", "workshop manual of small cars 1995-2002", "dark current")
SUV_2004 = Source("suv-2004", "workshop manual of a 2004 SUV", "parasitic draw test")
TRADE_RULE = Source("trade-rule", "trade notes", "key-off battery drain, one hour after shut-off")
TRADE_PRESS = Source("trade-press", "trade press", "parasitic drain, 25 to 50 mA")
TRAINING_SITE = Source("training-site", "training site", "parasitic drain")
TRAINING_2021 = Source(
    "training-2021", "training institute 2021", "key-off current of older and newer cars"
)
DRAIN_ARTICLE = Source("drain-article", "trade article 2014", "key-off drain, two 2010-11 vehicles")
POLICE_GUIDE = Source("police-guide", "police vehicle upfitting guide 2009", "quiescent current")
TRUCK_LIFE = Source("truck-life", "battery maker's page", "prolonging commercial battery life")
BATTERY_FAQ = Source("battery-faq", "battery FAQ, two editions", "headlights left on")
MARINE_MANUAL = Source("marine-manual", "marine engine manual", "charging, technical data")
CAR_2021 = Source("car-2021", "workshop manual of a 2021 car", "alternator, internal mode")
CHARGER_PAGE = Source(
    "charger-page", "charger seller's page", "charging end voltage by temperature"
)
IDLE_COLUMN = Source("idle-column", "textbook author's column", "alternator output at idle")
CAR_1997_ALTERNATOR = Source(
    "alternator-1997", "workshop manual of a 1997 six-cylinder car", "charging system output"
)
FEDERAL_BATTERY = Source(
    "federal-battery", "federal purchase description", "A-A-55439A, storage batteries, automotive"
)
SUN_DE = Source(
    "sun-de", "solar press quoting the weather service", "global radiation over Germany, by month"
)
EFFICIENCY_PAGE = Source("efficiency-page", "motorcycle site, copied text", "charge efficiency")
NORMALS_CA = Source("normals-ca", "official climate normals", "Winnipeg 1971-2000")
TEST_YEARS_DE = Source("try-de", "German test reference year 2010", "Potsdam, region 4, hourly")
TYPICAL_US = Source("tmy-us", "typical year TMY3", "Greensboro NC, hourly")
CITIES = Source(
    "cities-table", "open table (CC BY 4.0)", "monthly means of 270 cities, 1981-2010, CHELSA 2.1"
)
CONTINENTALITY = Source(
    "continentality", "textbook chapter", "climate of middle and high latitudes, continentality"
)

KINETIC_LIBRARY = Source(
    "lib-kinetic", "open library", "NREL-PySAM stateful battery, kinetic model"
)
PHYSICS_LIBRARY = Source("lib-physics", "open library", "pybamm, lead-acid models, Sulzer2019 set")
OIL_NEWS = Source("oil-news", "news article 2024", "lowest start by oil grade")
OIL_FORUM = Source("oil-forum", "forum quotation", "typical viscosity of engine oils in the cold")
OWNER_OIL = Source("owner-oil", "five owner manuals of one car maker", "engine oil, cold weather")
OIL_CHART = Source("oil-chart-1982", "owner-manual chart of 1982", "crankcase oil by temperature")
SIX_OILS = Source("six-oils", "engineering paper, abstract", "six oils in a two-litre diesel, cold")
JEEP_TRIALS = Source(
    "jeep-trials", "defence science journal 1988", "starting trials in a cold chamber"
)
SYNTHETIC_DIESEL = Source(
    "synthetic-diesel", "engineering paper of 1989, abstract", "arctic oil in heavy diesels"
)
CONTACTOR_SHEET = Source("contactor-sheet", "data sheet", "contactor for electric vehicles, 135 A")
SMALL_LABELS = Source("small-labels", "battery seller's tables", "labels of 4 to 18 Ah batteries")
CYCLE_ADVICE = Source("cycle-advice", "advice pages", "motorcycles: cranking current, starter load")
CYCLE_WORKSHOP = Source(
    "cycle-workshop", "question-and-answer page", "motorcycles measured in a repair shop"
)
HEAVY_STARTER = Source(
    "heavy-starter", "construction-equipment trade article", "testing a starting system, 24 V"
)
CYCLE_OWNER = Source("cycle-owner", "owner's measurement", "starter of a 0.8 l twin, cold and warm")
VOLTAGE_RULE = Source(
    "voltage-rule-2012", "article of 2012", "a rule of thumb for estimating battery charge"
)
REST_PAGE = Source("rest-page", "battery trade page", "measuring charge by voltage at rest")
POLAR_STATION = Source(
    "polar-station", "open data of a polar station network", "battery voltage, hourly and daily"
)
FIRMWARE_THREADS = Source(
    "firmware-threads", "open firmware issue threads", "measuring the supply voltage"
)
OWN_MEMORY = Source("memory", "from memory", "no document at hand")
PRACTICE_ONLY = Source("practice", "common practice", "no source")
