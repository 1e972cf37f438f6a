"""Codes that papers need: countries (ISO 3166-1 alpha-2) and the currencies of daily use (ISO 4217).

The short English names of countries are those of the public-domain table of the tz database, 2025b.
"""

from __future__ import annotations

_COUNTRIES = """
AD Andorra; AE United Arab Emirates; AF Afghanistan; AG Antigua & Barbuda; AI Anguilla; AL Albania; AM Armenia;
AO Angola; AQ Antarctica; AR Argentina; AS Samoa (American); AT Austria; AU Australia; AW Aruba; AX Åland Islands;
AZ Azerbaijan; BA Bosnia & Herzegovina; BB Barbados; BD Bangladesh; BE Belgium; BF Burkina Faso; BG Bulgaria;
BH Bahrain; BI Burundi; BJ Benin; BL St Barthelemy; BM Bermuda; BN Brunei; BO Bolivia; BQ Caribbean NL; BR Brazil;
BS Bahamas; BT Bhutan; BV Bouvet Island; BW Botswana; BY Belarus; BZ Belize; CA Canada; CC Cocos (Keeling) Islands;
CD Congo (Dem. Rep.); CF Central African Rep.; CG Congo (Rep.); CH Switzerland; CI Côte d'Ivoire; CK Cook Islands;
CL Chile; CM Cameroon; CN China; CO Colombia; CR Costa Rica; CU Cuba; CV Cape Verde; CW Curaçao; CX Christmas Island;
CY Cyprus; CZ Czech Republic; DE Germany; DJ Djibouti; DK Denmark; DM Dominica; DO Dominican Republic; DZ Algeria;
EC Ecuador; EE Estonia; EG Egypt; EH Western Sahara; ER Eritrea; ES Spain; ET Ethiopia; FI Finland; FJ Fiji;
FK Falkland Islands; FM Micronesia; FO Faroe Islands; FR France; GA Gabon; GB Britain (UK); GD Grenada; GE Georgia;
GF French Guiana; GG Guernsey; GH Ghana; GI Gibraltar; GL Greenland; GM Gambia; GN Guinea; GP Guadeloupe;
GQ Equatorial Guinea; GR Greece; GS South Georgia & the South Sandwich Islands; GT Guatemala; GU Guam;
GW Guinea-Bissau; GY Guyana; HK Hong Kong; HM Heard Island & McDonald Islands; HN Honduras; HR Croatia; HT Haiti;
HU Hungary; ID Indonesia; IE Ireland; IL Israel; IM Isle of Man; IN India; IO British Indian Ocean Territory; IQ Iraq;
IR Iran; IS Iceland; IT Italy; JE Jersey; JM Jamaica; JO Jordan; JP Japan; KE Kenya; KG Kyrgyzstan; KH Cambodia;
KI Kiribati; KM Comoros; KN St Kitts & Nevis; KP Korea (North); KR Korea (South); KW Kuwait; KY Cayman Islands;
KZ Kazakhstan; LA Laos; LB Lebanon; LC St Lucia; LI Liechtenstein; LK Sri Lanka; LR Liberia; LS Lesotho; LT Lithuania;
LU Luxembourg; LV Latvia; LY Libya; MA Morocco; MC Monaco; MD Moldova; ME Montenegro; MF St Martin (French);
MG Madagascar; MH Marshall Islands; MK North Macedonia; ML Mali; MM Myanmar (Burma); MN Mongolia; MO Macau;
MP Northern Mariana Islands; MQ Martinique; MR Mauritania; MS Montserrat; MT Malta; MU Mauritius; MV Maldives;
MW Malawi; MX Mexico; MY Malaysia; MZ Mozambique; NA Namibia; NC New Caledonia; NE Niger; NF Norfolk Island;
NG Nigeria; NI Nicaragua; NL Netherlands; NO Norway; NP Nepal; NR Nauru; NU Niue; NZ New Zealand; OM Oman; PA Panama;
PE Peru; PF French Polynesia; PG Papua New Guinea; PH Philippines; PK Pakistan; PL Poland; PM St Pierre & Miquelon;
PN Pitcairn; PR Puerto Rico; PS Palestine; PT Portugal; PW Palau; PY Paraguay; QA Qatar; RE Réunion; RO Romania;
RS Serbia; RU Russia; RW Rwanda; SA Saudi Arabia; SB Solomon Islands; SC Seychelles; SD Sudan; SE Sweden;
SG Singapore; SH St Helena; SI Slovenia; SJ Svalbard & Jan Mayen; SK Slovakia; SL Sierra Leone; SM San Marino;
SN Senegal; SO Somalia; SR Suriname; SS South Sudan; ST Sao Tome & Principe; SV El Salvador; SX St Maarten (Dutch);
SY Syria; SZ Eswatini (Swaziland); TC Turks & Caicos Is; TD Chad; TF French S. Terr.; TG Togo; TH Thailand;
TJ Tajikistan; TK Tokelau; TL East Timor; TM Turkmenistan; TN Tunisia; TO Tonga; TR Turkey; TT Trinidad & Tobago;
TV Tuvalu; TW Taiwan; TZ Tanzania; UA Ukraine; UG Uganda; UM US minor outlying islands; US United States; UY Uruguay;
UZ Uzbekistan; VA Vatican City; VC St Vincent; VE Venezuela; VG Virgin Islands (UK); VI Virgin Islands (US);
VN Vietnam; VU Vanuatu; WF Wallis & Futuna; WS Samoa (western); YE Yemen; YT Mayotte; ZA South Africa; ZM Zambia;
ZW Zimbabwe
"""

COUNTRIES = {entry[:2]: entry[3:] for entry in (part.strip() for part in _COUNTRIES.replace("\n", " ").split(";"))}
"""Name by two-letter code."""

_CURRENCIES = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CLP
CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF
IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD
MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB
RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD
UYU UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""

CURRENCIES = frozenset(_CURRENCIES.split())
"""From memory; gold, funds and testing codes are left out."""
