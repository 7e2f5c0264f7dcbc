"""The trade words of fleet lists in six languages: headings, units, answers, lines to pass over.

The one table of words; `plain` says how they are compared (no accents, no marks, small letters).
Usual names of the trade: common practice, no source.
"""

import re
import unicodedata
from functools import lru_cache
from typing import Final

_MARKS: Final = re.compile(r"[^0-9a-z°%]+")


@lru_cache(maxsize=20_000)
def plain(text: str) -> str:
    """Return words as they are compared: small letters without accents and marks.

    Examples
    --------
    >>> plain("Kältestartstrom (EN)"), plain("N° d'immatriculation"), plain("µA")
    ('kaltestartstrom en', 'n° d immatriculation', 'ua')
    """
    text = text.casefold().replace("ß", "ss").replace("³", "3")
    text = text.replace("µ", "u").replace("μ", "u").replace("œ", "oe").replace("ø", "o")
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return _MARKS.sub(" ", bare).strip()


# Canonical column -> language -> what its heading may say. English "battery" words are written in
# full: `SHORT` lengthens what people shorten.
HEADINGS: Final[dict[str, dict[str, str]]] = {
    "id": {
        "en": "vehicle id, vehicle number, vehicle no, vehicle, fleet number, fleet no, "
        "registration, registration number, reg, reg no, reg number, number plate, plate, "
        "plate number, licence plate, license plate, vin, unit number, asset, asset id, "
        "asset number, name, vehicle name, vehicle registration, vehicle reg, truck no, van no, "
        "licence plate number, license plate number, truck, van, stock no, stock number, call sign",
        "de": "kennzeichen, amtliches kennzeichen, fahrzeug, fahrzeugnummer, fahrzeug nr, "
        "fahrzeug id, kfz kennzeichen, kfz, fzg, fzg nr, wagennummer, wagen nr, wagen, "
        "fahrgestellnummer, fin, inventarnummer, flottennummer, bezeichnung, nummernschild, "
        "interne nummer, kfz nr, wagennr, fahrzeugnr, fahrzeugkennzeichen, pol kennzeichen",
        "fr": "immatriculation, vehicule, n° immatriculation, n° d immatriculation, "
        "no immatriculation, numero d immatriculation, plaque, plaque d immatriculation, n° parc, "
        "numero de parc, no de parc, n° de parc, id vehicule, numero vehicule, n° vehicule, immat, "
        "nom du vehicule, identifiant",
        "es": "matricula, vehiculo, placa, n° vehiculo, numero de vehiculo, no de vehiculo, "
        "id vehiculo, patente, numero de flota, bastidor, num vehiculo, no vehiculo, unidad no, "
        "identificador, coche, numero de bastidor, codigo vehiculo, codigo de vehiculo",
        "it": "targa, veicolo, n° veicolo, numero veicolo, mezzo, automezzo, telaio, id veicolo, "
        "codice veicolo, codice mezzo, n veicolo, numero targa, numero di targa, matricola",
        "nl": "kenteken, voertuig, voertuignummer, voertuig nr, wagenparknummer, kentekennummer, "
        "voertuig id, chassisnummer, naam, voertuignr, vlootnummer",
    },
    "depot": {
        "en": "depot, site, location, yard, branch, base, station, home depot, garage, parked at",
        "de": "standort, niederlassung, betriebshof, depot, filiale, stellplatz, ort, hof, "
        "abstellort, werk, betriebsstatte, abstellplatz",
        "fr": "depot, site, agence, lieu, emplacement, base, parc, localisation, centre, "
        "lieu de stationnement",
        "es": "deposito, base, sede, ubicacion, cochera, delegacion, centro, patio, lugar, nave",
        "it": "deposito, sede, luogo, piazzale, filiale, ubicazione, rimessa, autorimessa",
        "nl": "vestiging, standplaats, locatie, depot, stalling, filiaal, remise",
    },
    "battery_profile": {
        "en": "battery profile, battery type, battery technology, battery chemistry, battery, "
        "type of battery, battery kind, battery construction",
        "de": "batterietyp, batterie typ, batterieart, batterietechnologie, batterie, "
        "batterie technologie, batteriebauart, bauart der batterie, starterbatterie, typ batterie, "
        "art der batterie, technologie",
        "fr": "type de batterie, technologie de batterie, batterie type, batterie, type batterie, "
        "technologie batterie, technologie",
        "es": "tipo de bateria, tecnologia de bateria, bateria, tipo bateria, tecnologia",
        "it": "tipo di batteria, tecnologia batteria, batteria, tipo batteria, tecnologia",
        "nl": "accutype, type accu, accu, batterijtype, accutechnologie, soort accu, "
        "type batterij, accusoort, technologie",
    },
    "capacity_ah": {
        "en": "capacity, battery capacity, c20, ah, battery ah, rated capacity, battery size, "
        "capacity c20, nominal capacity, amp hours, ampere hours, capacity 20h",
        "de": "kapazitat, batteriekapazitat, nennkapazitat, batterie kapazitat, k20, batterie ah, "
        "amperestunden, kapazitat k20, kapazitat c20, kapaz",
        "fr": "capacite, capacite de la batterie, capacite batterie, capacite nominale, "
        "batterie ah, capacite c20",
        "es": "capacidad, capacidad de bateria, capacidad de la bateria, capacidad nominal, "
        "capacidad bateria, bateria ah, capacidad c20",
        "it": "capacita, capacita batteria, capacita della batteria, capacita nominale, "
        "batteria ah, capacita c20",
        "nl": "capaciteit, accucapaciteit, nominale capaciteit, batterijcapaciteit, accu ah, "
        "capaciteit accu, capaciteit c20",
    },
    "reserve_capacity_min": {
        "en": "reserve capacity, rc, reserve, battery rc",
        "de": "reservekapazitat",
        "fr": "capacite de reserve, reserve de capacite",
        "es": "capacidad de reserva, reserva de capacidad",
        "it": "capacita di riserva, riserva di capacita",
        "nl": "reservecapaciteit",
    },
    "cold_cranking_a": {
        "en": "cold cranking a, cold cranking current, cold cranking amps, cold cranking, cca, "
        "cranking amps, battery cca, cold start current, cranking current, cold crank amps, "
        "cranking power",
        "de": "kaltestartstrom, kaltstartstrom, startstrom, kaltprufstrom, kaltpruefstrom, "
        "kaelteprufstrom, kaelteprüfstrom, kaelte startstrom, kalteprufstrom, kaltestart, "
        "kaltestartleistung",
        "fr": "courant de demarrage a froid, courant de demarrage, demarrage a froid, "
        "intensite de demarrage, puissance de demarrage, i demarrage",
        "es": "corriente de arranque en frio, corriente de arranque, arranque en frio, arranque, "
        "intensidad de arranque",
        "it": "corrente di spunto, spunto, corrente di avviamento a freddo, "
        "corrente di avviamento, avviamento a freddo, corrente spunto",
        "nl": "koudstartstroom, startstroom, koudstart, koudstartvermogen, koude start stroom",
    },
    "cranking_standard": {
        "en": "cranking standard, cca standard, rating standard, test standard",
        "de": "norm, prufnorm, norm kaltestart",
        "fr": "norme",
        "es": "norma",
        "it": "norma, normativa",
        "nl": "norm",
    },
    "battery_age_years": {
        "en": "battery age years, battery age, age of battery, battery years, age of the battery",
        "de": "batteriealter, alter der batterie, alter batterie, batterie alter, akkualter",
        "fr": "age de la batterie, age batterie, batterie age",
        "es": "edad de la bateria, edad bateria, antiguedad de la bateria, antiguedad bateria",
        "it": "eta della batteria, eta batteria, anzianita batteria",
        "nl": "leeftijd accu, accu leeftijd, accuouderdom, leeftijd van de accu, ouderdom accu, "
        "leeftijd batterij, acculeeftijd, accu ouderdom",
    },
    "battery_fitted": {
        "en": "battery fitted, battery date, battery fitted on, battery installed, "
        "battery installed on, date battery fitted, battery replaced, battery changed, "
        "battery fit date, battery fitting date, battery install date, last battery change, "
        "battery installation date, battery year, battery since, battery new, new battery, "
        "battery date of fitting, battery date fitted, battery replaced on, battery changed on, "
        "battery replacement date, date of battery",
        "de": "batterie eingebaut, batterie eingebaut am, batterie einbau, einbaudatum batterie, "
        "batteriedatum, batterie datum, batterie gewechselt, batteriewechsel, batterie neu, "
        "einbau batterie, batterie seit, letzter batteriewechsel, batterie baujahr, "
        "batterie vom, einbaudatum der batterie, batterie einbaudatum, batterie erneuert, "
        "batterie ersetzt, batterie verbaut, batterie jahr",
        "fr": "date batterie, date de la batterie, batterie montee, batterie montee le, "
        "batterie posee le, pose batterie, batterie changee le, date de pose batterie, "
        "date de montage batterie, batterie remplacee, batterie remplacee le, annee batterie, "
        "changement batterie, batterie depuis, date de pose de la batterie, batterie installee le, "
        "batterie changee, remplacement batterie, date changement batterie",
        "es": "fecha bateria, fecha de bateria, bateria montada, fecha de la bateria, "
        "bateria instalada, cambio de bateria, fecha cambio bateria, ano bateria, "
        "fecha montaje bateria, bateria cambiada, bateria desde, fecha de montaje de la bateria, "
        "fecha instalacion bateria, ultimo cambio de bateria, bateria sustituida",
        "it": "data batteria, batteria montata, batteria montata il, batteria sostituita, "
        "batteria installata, cambio batteria, anno batteria, data montaggio batteria, "
        "batteria dal, sostituzione batteria, data sostituzione batteria, batteria montata dal, "
        "data installazione batteria, montaggio batteria",
        "nl": "accu geplaatst, accu datum, datum accu, accu gemonteerd, accu vervangen, "
        "accudatum, inbouwdatum accu, accu ingebouwd, accu sinds, bouwjaar accu, "
        "accu geplaatst op, accu vervangen op, plaatsingsdatum accu, accu inbouwdatum",
    },
    "health": {
        "en": "health, soh, state of health, battery health",
        "de": "gesundheitszustand, batteriezustand, zustand der batterie soh, alterungszustand",
        "fr": "etat de sante, sante batterie, etat de sante batterie",
        "es": "estado de salud, salud bateria, salud de la bateria",
        "it": "stato di salute, salute batteria",
        "nl": "gezondheid accu, conditie accu, accugezondheid",
    },
    "state_of_charge": {
        "en": "state of charge, soc, charge, charge state, battery charge, charge level, "
        "battery level, battery soc, battery state of charge, battery charge level",
        "de": "ladezustand, ladung, batterieladung, ladestand, batterie ladezustand, "
        "ladezustand der batterie, batteriestand, batterieladezustand, fullstand batterie",
        "fr": "etat de charge, charge, niveau de charge, charge batterie, etat de charge batterie, "
        "niveau batterie",
        "es": "estado de carga, carga, nivel de carga, carga bateria, carga de la bateria, "
        "nivel de bateria",
        "it": "stato di carica, carica, livello di carica, carica batteria, livello batteria",
        "nl": "laadtoestand, lading, laadniveau, accu lading, acculading, ladingstoestand, "
        "laadstatus, accuniveau",
    },
    "resting_voltage_v": {
        "en": "resting voltage, rest voltage, rest v, battery voltage, voltage, last voltage, "
        "open circuit voltage, ocv, last resting voltage, volts, battery volts, resting v, "
        "battery v, ocv v, rested voltage, voltage at rest, no load voltage, standing voltage",
        "de": "ruhespannung, batteriespannung, spannung, leerlaufspannung, klemmenspannung, "
        "letzte spannung, ruhe spannung, u ruhe, spannung in ruhe",
        "fr": "tension au repos, tension de repos, tension batterie, tension, tension a vide, "
        "tension de la batterie, derniere tension",
        "es": "tension en reposo, voltaje en reposo, tension bateria, tension de la bateria, "
        "voltaje, tension, voltaje de bateria, voltaje bateria, tension de reposo",
        "it": "tensione a riposo, tensione batteria, tensione, tensione a vuoto, voltaggio, "
        "tensione della batteria",
        "nl": "rustspanning, accuspanning, spanning, klemspanning, accu spanning, nullastspanning",
    },
    "resting_voltage_at": {
        "en": "resting voltage at, voltage date, date of voltage, voltage read at, "
        "voltage read on, resting voltage date, last voltage date, measured on, measured at, "
        "read on, date measured, measurement date, voltage measured on, voltage taken on",
        "de": "gemessen am, messdatum, datum der messung, spannung gemessen am, datum spannung, "
        "datum messung, gemessen, ruhespannung gemessen am, messung vom, messtag",
        "fr": "mesure le, date de mesure, date mesure, tension mesuree le, mesuree le, "
        "date de la mesure, releve le",
        "es": "medido el, fecha de medicion, fecha medicion, fecha de medida, medida el, "
        "fecha medida",
        "it": "misurato il, data misura, data della misura, data di misura, misurata il, "
        "data misurazione, rilevata il",
        "nl": "gemeten op, meetdatum, datum meting, datum van meting",
    },
    "resting_temperature_c": {
        "en": "resting temperature, temperature of reading, battery temperature at reading, "
        "battery temperature when measured, temperature when measured, temperature at measurement",
        "de": "temperatur bei messung, temperatur bei der messung, messtemperatur",
        "fr": "temperature de mesure, temperature a la mesure, temperature lors de la mesure",
        "es": "temperatura de medicion, temperatura al medir, temperatura de medida",
        "it": "temperatura di misura, temperatura alla misura",
        "nl": "temperatuur bij meting, meettemperatuur",
    },
    "rested_h": {
        "en": "rested, rest time, hours rested, rested for, resting time, rest hours",
        "de": "ruhezeit, ruhedauer",
        "fr": "temps de repos, duree de repos, repos",
        "es": "tiempo de reposo, horas de reposo",
        "it": "tempo di riposo, ore di riposo",
        "nl": "rusttijd, rustduur",
    },
    "quiescent_a": {
        "en": "quiescent, quiescent current, key off current, key off draw, parasitic draw, "
        "parasitic drain, parasitic current, standing drain, standby current, dark current, "
        "sleep draw of vehicle, quiescent draw, standing current, vehicle quiescent current, "
        "parasitic load, key off drain, vehicle drain, rest current, vehicle sleep current, "
        "standby draw, standing draw, off current, key off load, ignition off draw, "
        "ignition off current, parked draw, parked current, parking current, idle current, "
        "vehicle standby current, vehicle standing current, vehicle draw",
        "de": "ruhestrom, ruhestromverbrauch, ruhestromaufnahme, standby strom, "
        "ruhestrom fahrzeug, fahrzeug ruhestrom, i ruhe, ruhe strom, ruhestrom des fahrzeugs, "
        "ruhestrombedarf, ruheverbrauch",
        "fr": "courant de repos, courant de veille, consommation au repos, courant de fuite, "
        "courant parasite, courant au repos, consommation de repos, courant de repos vehicule, "
        "consommation parasite, consommation en veille, courant repos",
        "es": "corriente de reposo, consumo en reposo, corriente parasita, corriente en reposo, "
        "consumo parasito, consumo de reposo, corriente de fuga, intensidad en reposo",
        "it": "corrente di riposo, assorbimento a riposo, corrente parassita, corrente a riposo, "
        "assorbimento a vuoto, assorbimento parassita, assorbimento quadro spento, "
        "corrente di fuga",
        "nl": "ruststroom, sluipstroom, lekstroom, stand by stroom, rust stroom, sluipverbruik, "
        "rustverbruik, ruststroom voertuig, stille stroom",
    },
    "unit": {
        "en": "unit, unit type, device, device type, tracker, tracking unit, unit preset, "
        "telematics, telematics unit, tracker type, telematics device",
        "de": "gerat, geratetyp, ortungsgerat, telematik, telematikgerat, ortung, telematikeinheit",
        "fr": "boitier, type de boitier, traceur, balise, boitier telematique, telematique, "
        "appareil",
        "es": "equipo, dispositivo, localizador, tipo de equipo, rastreador, telematica",
        "it": "dispositivo, localizzatore, unita, tipo dispositivo, centralina, telematica",
        "nl": "apparaat, kastje, volgsysteem, tracker type, type tracker, telematica",
    },
    "sleep_a": {
        "en": "sleep, sleep current, unit sleep current, unit sleep, unit sleep draw, "
        "tracker sleep current, device sleep current, tracker sleep, device sleep, sleep draw",
        "de": "schlafstrom, gerat ruhestrom, ruhestrom gerat, schlafstrom gerat, ruhestrom tracker, "
        "ruhestrom telematik, gerat schlafstrom",
        "fr": "courant de veille boitier, veille boitier, courant de sommeil, "
        "courant de veille du boitier",
        "es": "corriente de sueno, corriente en sueno, consumo dormido, corriente equipo en reposo",
        "it": "corrente di sonno, corrente in sleep, assorbimento dispositivo",
        "nl": "slaapstroom, ruststroom apparaat, ruststroom tracker, ruststroom kastje",
    },
    "report_interval_h": {
        "en": "report interval, reporting interval, reports every, report every, interval, "
        "report rate, reporting, reports, reporting period, report period, position interval, "
        "transmission interval",
        "de": "meldeintervall, sendeintervall, berichtsintervall, intervall, melderate, "
        "sendet alle, meldung alle, melde intervall, meldungen",
        "fr": "intervalle de rapport, intervalle, frequence de rapport, rapport toutes les, "
        "intervalle d envoi, intervalle d emission",
        "es": "intervalo de informe, intervalo, informe cada, intervalo de reporte, "
        "intervalo de envio, envio cada",
        "it": "intervallo di rapporto, intervallo, rapporto ogni, intervallo di trasmissione, "
        "intervallo invio, intervallo di invio",
        "nl": "rapportage interval, meldinterval, interval, rapportage elke, zendinterval, "
        "meldingsinterval, rapportinterval, rapportage",
    },
    "report_charge_as": {
        "en": "report charge, charge per report, charge of a report",
        "de": "ladung je meldung, ladung pro meldung",
        "fr": "charge par rapport",
        "es": "carga por informe",
        "it": "carica per rapporto",
        "nl": "lading per rapport, lading per melding",
    },
    "engine_litres": {
        "en": "engine, engine size, displacement, engine capacity, swept volume, litres, "
        "engine litres, engine displacement, cubic capacity, liters, engine cc",
        "de": "hubraum, motor, motorgrosse, liter",
        "fr": "cylindree, moteur, litres",
        "es": "cilindrada, motor, litros",
        "it": "cilindrata, motore, litri",
        "nl": "cilinderinhoud, motorinhoud, motor, slagvolume, liter",
    },
    "battery_system": {
        "en": "battery system, electrical system, system, system voltage, batteries, "
        "nominal voltage, vehicle voltage, 12 24 v, 12v 24v",
        "de": "bordnetz, bordspannung, nennspannung, systemspannung, bordnetzspannung, system, "
        "netzspannung, bordnetz spannung",
        "fr": "tension nominale, systeme, reseau de bord, tension du systeme, tension systeme, "
        "circuit electrique",
        "es": "tension nominal, sistema, sistema electrico, tension del sistema",
        "it": "tensione nominale, sistema, impianto, impianto elettrico, tensione impianto",
        "nl": "boordspanning, nominale spanning, systeem, systeemspanning, boordnet",
    },
    "second_health": {
        "en": "second health, health of second battery, second battery health",
        "de": "zustand zweite batterie",
        "fr": "sante deuxieme batterie",
        "es": "salud segunda bateria",
        "it": "salute seconda batteria",
        "nl": "gezondheid tweede accu",
    },
    "vehicle_kind": {
        "en": "vehicle kind, kind, kind of vehicle, vehicle type, type of vehicle, body type, "
        "vehicle class",
        "de": "fahrzeugart, fahrzeugtyp, art, fahrzeugklasse, fahrzeug art",
        "fr": "type de vehicule, genre, type vehicule, genre de vehicule",
        "es": "tipo de vehiculo, tipo vehiculo, clase de vehiculo",
        "it": "tipo di veicolo, tipo veicolo, tipo mezzo",
        "nl": "voertuigsoort, voertuigtype, soort voertuig, type voertuig",
    },
    "trips_per_week": {
        "en": "trips per week, trips a week, weekly trips, trips week, journeys per week",
        "de": "fahrten pro woche, fahrten je woche, fahrten woche, wochentliche fahrten",
        "fr": "trajets par semaine, trajets semaine, courses par semaine",
        "es": "viajes por semana, trayectos por semana, viajes semana",
        "it": "viaggi a settimana, viaggi settimanali, viaggi per settimana",
        "nl": "ritten per week, ritten week",
    },
    "trip_minutes": {
        "en": "trip minutes, trip length, minutes per trip, trip duration, journey time",
        "de": "fahrtdauer, minuten je fahrt, minuten pro fahrt, fahrzeit",
        "fr": "duree du trajet, minutes par trajet, duree trajet",
        "es": "duracion del viaje, minutos por viaje, duracion viaje",
        "it": "durata viaggio, minuti per viaggio, durata del viaggio",
        "nl": "ritduur, minuten per rit, ritlengte",
    },
    "fuel": {
        "en": "fuel, fuel type, engine type, drive, propulsion, powertrain",
        "de": "kraftstoff, kraftstoffart, treibstoff, antrieb, antriebsart",
        "fr": "carburant, type de carburant, energie, motorisation",
        "es": "combustible, tipo de combustible, carburante",
        "it": "carburante, alimentazione, combustibile",
        "nl": "brandstof, brandstofsoort, brandstoftype, aandrijving",
    },
    "climate": {
        "en": "climate, climate zone, weather",
        "de": "klima, klimazone",
        "fr": "climat, zone climatique",
        "es": "clima, zona climatica",
        "it": "clima, zona climatica",
        "nl": "klimaat, klimaatzone",
    },
    "temperature_c": {
        "en": "temperature, temp, ambient temperature, air temperature, parking temperature, "
        "ambient, outside temperature",
        "de": "temperatur, aussentemperatur, umgebungstemperatur, lufttemperatur, "
        "stellplatztemperatur",
        "fr": "temperature, temperature ambiante, temperature exterieure",
        "es": "temperatura, temperatura ambiente, temperatura exterior",
        "it": "temperatura, temperatura ambiente, temperatura esterna",
        "nl": "temperatuur, buitentemperatuur, omgevingstemperatuur",
    },
    "parked_from": {
        "en": "parked from, parked since, parked on, parked, last driven, last trip, last used, "
        "standing since, last moved, date parked, parking date, parked date, last use, "
        "last journey, off road since, stationary since, laid up since, idle since, stood since, "
        "last run, since, date of parking, last driven on, stored since, last started",
        "de": "abgestellt am, abgestellt seit, steht seit, letzte fahrt, abgestellt, parkt seit, "
        "geparkt seit, zuletzt gefahren, abstelldatum, zuletzt bewegt, stillgelegt seit, "
        "geparkt am, standzeit seit, letzte nutzung, zuletzt bewegt am, zuletzt gefahren am, "
        "letzte bewegung, seit, stillstand seit, ausser betrieb seit, geparkt",
        "fr": "gare depuis, stationne depuis, immobilise depuis, dernier trajet, "
        "derniere utilisation, a l arret depuis, gare le, stationne le, date de stationnement, "
        "stationnement depuis, arret depuis, date d immobilisation, immobilise le, "
        "derniere sortie, remise depuis, au parking depuis, dernier deplacement, parque depuis, "
        "depuis",
        "es": "aparcado desde, estacionado desde, parado desde, ultimo viaje, ultimo uso, "
        "aparcado el, estacionado el, fecha de estacionamiento, inmovilizado desde, "
        "fecha de aparcamiento, ultimo trayecto, estacionado, aparcado, desde, parado el, "
        "ultima salida, ultimo movimiento",
        "it": "fermo dal, parcheggiato dal, in sosta dal, ultimo viaggio, ultimo uso, "
        "parcheggiato il, data di sosta, ferma dal, fermo da, data sosta, parcheggiato da, "
        "ultimo utilizzo, in sosta da, data parcheggio, dal, data fermo, ultimo movimento",
        "nl": "geparkeerd sinds, staat stil sinds, laatste rit, laatst gereden, stilstaand sinds, "
        "geparkeerd op, gestald sinds, laatst gebruikt, stilstand sinds, datum geparkeerd, "
        "staat sinds, sinds, gestald op, geparkeerd, geparkeerd vanaf, laatste gebruik",
    },
    "planned_return": {
        "en": "planned return, return, return date, needed on, next use, next trip, due back, "
        "parked until, back in service, needed again, back on, next needed, required on, "
        "due out, required by, needed by, return to service, until, next job, needed from",
        "de": "ruckkehr, geplante ruckkehr, wieder benotigt, benotigt am, nachste fahrt, "
        "nachster einsatz, wieder im einsatz, einsatz ab, gebraucht am, wieder gebraucht am, "
        "wieder benotigt am, geplanter einsatz, nachste nutzung, wieder ab, bis, "
        "geplante abfahrt, einsatz am, benotigt ab, wiederinbetriebnahme, rucknahme geplant, "
        "wieder in betrieb, wieder in betrieb am, einsatzbereit ab, geplante nutzung",
        "fr": "retour prevu, date de retour, prochain depart, besoin le, prochaine utilisation, "
        "retour, reprise prevue, reprise le, prochain trajet, date de reprise, remise en service, "
        "date retour, prochaine sortie, retour prevu le, depart prevu, reprise, "
        "date de retour prevue",
        "es": "regreso previsto, fecha de regreso, proximo uso, vuelta prevista, proximo viaje, "
        "regreso, necesario el, fecha de vuelta, retorno previsto, proxima salida, "
        "salida prevista, fecha prevista, vuelta, fecha regreso",
        "it": "rientro previsto, prossimo utilizzo, ritorno previsto, prossimo viaggio, "
        "prossimo uso, data rientro, rientro, serve il, ripresa prevista, uscita prevista, "
        "data di rientro, ripartenza prevista, previsto rientro, ritorno",
        "nl": "verwachte terugkeer, terug op, nodig op, volgende rit, geplande terugkeer, "
        "weer nodig, weer nodig op, volgend gebruik, weer in gebruik, terugkeer, terug, "
        "datum terug, weer inzetten, terug in dienst, gepland vertrek",
    },
}

# A heading that two things may bear, and what asks for it: the column it could be, the other.
TWO_MEANINGS: Final[dict[str, tuple[str, str]]] = {
    **dict.fromkeys(
        ("age", "age years", "alter", "edad", "eta", "leeftijd", "anni", "antiguedad", "ouderdom"),
        ("battery_age_years", "the vehicle's age"),
    ),
    **dict.fromkeys(
        ("fitted", "fitted on", "installed", "installed on", "date fitted", "einbaudatum",
         "eingebaut am", "eingebaut", "date de pose", "monte le", "fecha de montaje",
         "data montaggio", "montato il", "ingebouwd", "inbouwdatum", "geplaatst op"),
        ("battery_fitted", "the day the unit was fitted"),
    ),
    **dict.fromkeys(
        ("current", "strom", "courant", "corriente", "corrente", "stroom", "draw", "drain",
         "consumption", "verbrauch", "consommation", "consumo", "assorbimento", "verbruik",
         "strom in ruhe"),
        ("quiescent_a", "the unit's current"),
    ),
    **dict.fromkeys(
        ("date", "datum", "fecha", "data"), ("parked_from", "another day")
    ),
}  # fmt: skip

# Headings whose cells must bear them out: else the column is something else.
WEAK: Final = frozenset(
    ["battery", "type", "kind", "system", "unit", "device", "batteries", "engine", "batterie", "motor", "art", "typ", "tipo", "accu", "bateria", "batteria", "moteur", "motore", "genre", "norm", "norme", "norma", "sistema", "systeem", "systeme", "name", "drive", "antrieb", "aandrijving", "reports", "reporting"]
) | {
    "vehicle type", "type of vehicle", "fahrzeugtyp", "fahrzeugart", "type de vehicule",
    "tipo de vehiculo", "tipo di veicolo", "tipo veicolo", "voertuigtype", "voertuigsoort",
    "vehicle class", "body type", "fahrzeugklasse", "technologie", "tecnologia", "normativa",
    "tracker", "telematics", "telematik", "equipo", "dispositivo", "apparaat", "appareil",
    "boitier", "gerat", "unita", "energie", "motorisation", "powertrain", "propulsion",
    "engine type", "climate", "weather", "klima", "climat", "clima", "klimaat", "tracking unit",
    "telematique", "telematica", "ortung", "ortungsgerat", "traceur", "balise", "localizador",
    "localizzatore", "volgsysteem", "kastje", "type vehicule", "tipo vehiculo", "tipo mezzo",
    "impianto", "bordnetz", "rastreador", "centralina", "soort voertuig", "type voertuig",
    "genre de vehicule", "clase de vehiculo", "alimentazione", "antriebsart",
}  # fmt: skip

# Shortened words of headings -> in full.
SHORT: Final = {
    "batt": "battery", "bat": "battery", "btry": "battery", "veh": "vehicle", "cap": "capacity",
    "volt": "voltage", "curr": "current", "reg": "reg", "akku": "batterie",
    "no": "no", "nr": "nr", "num": "no", "nos": "no", "amb": "ambient", "instal": "installed",
    "max": "", "min": "min", "approx": "", "ca": "", "avg": "", "average": "", "mean": "",
    "measured": "measured", "mittel": "", "durchschnitt": "", "moyen": "", "moyenne": "",
    "medio": "", "media": "", "gemiddeld": "", "gemiddelde": "", "the": "", "in": "in", "est": "",
    "estimated": "", "typ": "typ", "lt": "",
}  # fmt: skip

STANDARDS: Final = {  # of cold cranking currents, as they stand in headings and cells
    "en": "EN", "en1": "EN", "en 50342": "EN", "sae": "SAE", "din": "DIN", "jis": "JIS",
    "iec": "IEC",
}  # fmt: skip

# Unit as written (see `plain`) -> the plain unit's name.
UNITS: Final = {
    "years": "years, year, yrs, yr, y, jahre, jahr, jahren, j, ans, an, annees, annee, anos, ano, "
    "anni, anno, jaar, jaren, jr",
    "months": "months, month, mths, mth, mo, mon, monate, monat, monaten, mois, meses, mes, mesi, "
    "mese, maanden, maand, mnd",
    "h": "h, hours, hour, hrs, hr, std, stunden, stunde, heures, heure, horas, hora, ore, ora, "
    "uur, uren",
    "min": "min, minutes, minute, mins, minuten, minutos, minuti, mn, m",
    "s": "s, sec, secs, seconds, sekunden, secondes, segundos, secondi, seconden",
    "d": "d, days, day, tage, tag, tagen, jours, jour, dias, dia, giorni, giorno, dagen, dag",
    "a": "a, amp, amps, ampere, amperes, amperios, ampereche, adc",
    "ma": "ma, milliamp, milliamps, milliampere, milliamperes, miliamperios, milliamperes, madc",
    "ua": "ua, microamp, microamps, mikroampere",
    "ah": "ah, amp hours, ampere hours, amperestunden",
    "mah": "mah",
    "as": "as, c, a s, coulomb",
    "mas": "mas",
    "°c": "°c, c, degc, deg c, celsius, grad, grad c, ° c, gradc, ° celsius, gradi, graden, degres",
    "°f": "°f, f, degf, deg f, fahrenheit, ° f, ° fahrenheit",
    "k": "k, kelvin",
    "v": "v, volt, volts, vdc, voltios",
    "mv": "mv, millivolt, millivolts",
    "%": "%, percent, pct, per cent, prozent, pour cent, por ciento, per cento, procent, "
    "porcentaje, percentuale",
    "l": "l, litres, liters, litre, liter, ltr, litros, litri",
    "cc": "cc, ccm, cm3, cu cm, cui cm, cmc",
    "/week": "week, per week, woche, semaine, semana, settimana, pro woche, wk",
}

# Words in cells -> key of a choice.
CHOICES: Final[dict[str, dict[str, str]]] = {
    "battery_profile": {
        "agm": "agm, absorbed glass mat, vlies, agm vlies, vrla agm, agm battery, agm batterie, "
        "agm start stop",
        "enhanced_flooded": "efb, enhanced flooded, efb start stop, enhanced flooded battery, efb+",
        "flooded_calcium": "flooded, wet, calcium, lead acid, lead calcium, ca ca, caca, "
        "conventional, standard, sla flooded, nass, nassbatterie, blei saure, bleisaure, "
        "blei, konventionell, nasse batterie, plomb, plomb ouvert, plomb acide, plomo, "
        "plomo acido, piombo, piombo acido, lood, loodzuur, nat, natte accu, calcio, "
        "flooded calcium, wet cell, humide, liquida, humeda, flussig, smf, wartungsfrei, "
        "maintenance free, standaard, estandar, libera, acido libero, plomb calcium, blei calcium, "
        "plomo calcio, piombo calcio, lood calcium, convencional, convenzionale, conventionnelle, "
        "liquide, acide liquide, acido liquido, liquido, nasszelle",
        "flooded_antimony": "antimony, flooded antimony, lead antimony, antimon, antimoine, "
        "antimonio, blei antimon",
        "gel": "gel, gel battery, gel batterie, gelbatterie, gelaccu, blei gel",
        "lithium_iron_phosphate_12v": "lifepo4, lfp, lithium iron phosphate, "
        "lithium iron phosphate 12v, lithium eisenphosphat, lithium fer phosphate",
    },
    "fuel": {
        "petrol": "petrol, gasoline, p, benzin, essence, sp95, sp98, gasolina, benzina, benzine, "
        "super, otto, b, unleaded, euro95, nafta, ottomotor, e10",
        "diesel": "diesel, d, gasoil, gazole, gasoleo, derv, nafta diesel, dieselmotor, gasolio",
    },
    "battery_system": {
        "12V": "12v, 12 v, 12, 12 0, single, 12 volt, 12volt, 1x12v, 1 x 12 v, 12 volts",
        "24V": "24v, 24 v, 24, 24 0, series, 24 volt, 24volt, 2x12v, 2 x 12 v, 2x12, 24 volts",
        "parallel": "parallel, parallele, paralelo, parallelo, parallelle",
        "auxiliary": "auxiliary, auxiliaire, auxiliar, ausiliaria",
    },
    "vehicle_kind": {
        "engine": "engine, car, van, truck, bus, lorry, suv, estate, pickup, pick up, minibus, "
        "coach, tractor, tractor unit, pkw, lkw, transporter, kleinbus, kastenwagen, "
        "zugmaschine, kombi, voiture, camion, fourgon, utilitaire, camionnette, tracteur, coche, "
        "furgoneta, camion, turismo, autobus, auto, furgone, autocarro, autovettura, "
        "bestelauto, bestelwagen, vrachtwagen, personenauto, bestelbus, trekker, sattelzugmaschine",
        "motorcycle": "motorcycle, motorbike, motorrad, moto, motocicleta, motocicletta, motorfiets, "
        "scooter, roller, motociclo",
        "hybrid": "hybrid, hybride, hibrido, ibrido, hev, phev, plug in hybrid, plugin hybrid, "
        "hybrid plug in, hybride rechargeable, mild hybrid",
        "electric": "electric, ev, bev, elektro, elektrisch, electrique, electrico, elettrico, "
        "e auto, battery electric, elektroauto, strom, electricity, vollelektrisch, elettrica",
        "trailer": "trailer, anhanger, auflieger, remorque, semi remorque, remolque, semirremolque, "
        "rimorchio, semirimorchio, aanhanger, oplegger, aanhangwagen",
    },
    "unit": {
        "hourly": "hourly, stundlich, toutes les heures, horaire, cada hora, ogni ora, elk uur, "
        "per uur, jede stunde",
        "daily": "daily, taglich, quotidien, diario, giornaliero, dagelijks, once a day, "
        "einmal taglich, journalier",
        "": "none, no, no unit, without, keins, keine, kein, ohne, nein, aucun, sans, non, ninguno, "
        "sin, nessuno, senza, geen, nee, nicht vorhanden, not fitted, kein gerat, zonder, ningun",
    },
    "cranking_standard": {key: key.lower() for key in ("SAE", "EN", "DIN", "JIS")},
}
# What a cell says that no choice covers -> the hint.
HINTS: Final[dict[str, dict[str, str]]] = {
    "battery_profile": {
        "lithium": "which one? LiFePO4 (lithium_iron_phosphate_12v) is known; others are not",
        "li ion": "which one? LiFePO4 (lithium_iron_phosphate_12v) is known; others are not",
        "lithium ion": "which one? LiFePO4 (lithium_iron_phosphate_12v) is known; others are not",
        "litio": "which one? LiFePO4 (lithium_iron_phosphate_12v) is known; others are not",
        "vrla": "AGM or gel? write agm or gel",
        "sealed": "AGM, gel or maintenance-free flooded? write agm, gel or flooded",
        "sla": "AGM or gel? write agm or gel",
        "start stop": "EFB or AGM? write efb or agm",
    },
    "fuel": {
        "lpg": "an engine on gas starts as a petrol engine does: write petrol",
        "cng": "an engine on gas starts as a petrol engine does: write petrol",
        "autogas": "an engine on gas starts as a petrol engine does: write petrol",
        "gpl": "an engine on gas starts as a petrol engine does: write petrol",
        "erdgas": "an engine on gas starts as a petrol engine does: write petrol",
        "glp": "an engine on gas starts as a petrol engine does: write petrol",
        "metano": "an engine on gas starts as a petrol engine does: write petrol",
        "hydrogen": "a fuel cell vehicle is started by a small 12 V battery: leave the fuel empty "
        "and write electric as the kind of vehicle",
    },
    "cranking_standard": {"IEC": "no such rating is known here; write SAE, EN, DIN or JIS",
                          "iec": "no such rating is known here; write SAE, EN, DIN or JIS"},
}  # fmt: skip
ASKED_WORDS: Final = {"fuel": {"gas": "petrol, or natural gas?", "gaz": "petrol, or natural gas?",
                               "super plus gas": "petrol, or natural gas?"}}  # fmt: skip

NOTHING: Final = frozenset(
    ["na", "nan", "null", "unknown", "unbekannt", "inconnu", "desconocido", "sconosciuto", "onbekend", "nc", "tbd", "tba", "tbc", "missing", "fehlt", "leer", "nd", "nvt"]
) | {
    "none given", "n a", "k a", "keine angabe", "nicht gemessen", "not measured", "non mesure",
    "nicht bekannt", "not known", "no data", "s d", "n d", "n v t", "niet gemeten", "no medido",
    "non misurato", "n b", "not available", "no dato", "non disponibile", "non renseigne",
}  # fmt: skip

TOTALS: Final = frozenset(
    [
        "total",
        "totals",
        "sum",
        "subtotal",
        "average",
        "avg",
        "mean",
        "median",
        "count",
        "maximum",
        "minimum",
        "summe",
        "gesamt",
        "gesamtsumme",
        "zwischensumme",
        "mittelwert",
        "durchschnitt",
        "anzahl",
        "mittel",
        "schnitt",
        "totaux",
        "somme",
        "moyenne",
        "nombre",
        "promedio",
        "suma",
        "media",
        "totale",
        "somma",
        "conteggio",
        "totaal",
        "som",
        "gemiddelde",
        "gemiddeld",
        "aantal",
        "totales",
        "subtotaal",
        "sottototale",
    ]
)
NOTES: Final = frozenset(
    [
        "note",
        "notes",
        "nb",
        "remark",
        "remarks",
        "source",
        "as",
        "stand",
        "hinweis",
        "bemerkung",
        "anmerkung",
        "quelle",
        "erstellt",
        "printed",
        "exported",
        "legend",
        "legende",
        "legende",
        "page",
        "seite",
        "remarque",
        "etat",
        "leyenda",
        "nota",
        "legenda",
        "opmerking",
        "bron",
        "toelichting",
        "fuente",
        "fonte",
        "printed",
        "generated",
        "report",
        "hinweise",
        "fin",
        "ende",
        "fine",
        "einde",
        "created",
        "updated",
        "signed",
        "gedruckt",
        "exportiert",
        "imprime",
        "stampato",
        "afgedrukt",
        "pagina",
        "bemerkungen",
        "remarques",
        "notas",
        "note",
        "situation",
        "bestand",
        "peildatum",
        "per",
        "date",
        "datum",
        "fecha",
        "data",
    ]
)

MONTHS: Final = {
    1: "january, jan, januar, jaenner, janvier, janv, enero, ene, gennaio, gen, januari, janner",
    2: "february, feb, februar, fevrier, fevr, fev, febrero, febbraio, februari",
    3: "march, mar, marz, maerz, mars, marzo, maart, mrt, mrz",
    4: "april, apr, avril, avr, abril, abr, aprile",
    5: "may, mai, mayo, maggio, mag, mei",
    6: "june, jun, juni, juin, junio, giugno, giu",
    7: "july, jul, juli, juillet, juil, julio, luglio, lug",
    8: "august, aug, aout, agosto, ago, augustus",
    9: "september, sep, sept, septembre, septiembre, settembre, set",
    10: "october, oct, oktober, okt, octobre, octubre, ottobre, ott",
    11: "november, nov, novembre, noviembre",
    12: "december, dec, dezember, dez, decembre, diciembre, dic, dicembre",
}


def spread(table: dict[str, str]) -> dict[str, str]:
    """Return each word of a table of comma-separated words → its key.

    Examples
    --------
    >>> spread({"h": "hours, Std."})
    {'hours': 'h', 'std': 'h'}
    """
    return {plain(word): key for key, words in table.items() for word in words.split(",")}


UNIT_OF: Final = spread(UNITS)
MONTH_OF: Final = {plain(w): n for n, words in MONTHS.items() for w in words.split(",")}
COLUMN_OF: Final = {
    plain(word): column
    for column, languages in HEADINGS.items()
    for words in languages.values()
    for word in (column.replace("_", " "), *words.split(","))
}
