package unit

// currencies is the alphabetic codes of ISO 4217 that name money or a unit of
// account in use; metals and codes for testing are left out.
const currencies = `
AED UAE dirham
AFN Afghani
ALL Lek
AMD Armenian dram
AOA Kwanza
ARS Argentine peso
AUD Australian dollar
AWG Aruban florin
AZN Azerbaijan manat
BAM Convertible mark
BBD Barbados dollar
BDT Taka
BHD Bahraini dinar
BIF Burundi franc
BMD Bermudian dollar
BND Brunei dollar
BOB Boliviano
BOV Mvdol
BRL Brazilian real
BSD Bahamian dollar
BTN Ngultrum
BWP Pula
BYN Belarusian ruble
BZD Belize dollar
CAD Canadian dollar
CDF Congolese franc
CHE WIR euro
CHF Swiss franc
CHW WIR franc
CLF Unidad de fomento
CLP Chilean peso
CNY Yuan renminbi
COP Colombian peso
COU Unidad de valor real
CRC Costa Rican colon
CUP Cuban peso
CVE Cabo Verde escudo
CZK Czech koruna
DJF Djibouti franc
DKK Danish krone
DOP Dominican peso
DZD Algerian dinar
EGP Egyptian pound
ERN Nakfa
ETB Ethiopian birr
EUR Euro
FJD Fiji dollar
FKP Falkland Islands pound
GBP Pound sterling
GEL Lari
GHS Ghana cedi
GIP Gibraltar pound
GMD Dalasi
GNF Guinean franc
GTQ Quetzal
GYD Guyana dollar
HKD Hong Kong dollar
HNL Lempira
HTG Gourde
HUF Forint
IDR Rupiah
ILS New Israeli sheqel
INR Indian rupee
IQD Iraqi dinar
IRR Iranian rial
ISK Iceland krona
JMD Jamaican dollar
JOD Jordanian dinar
JPY Yen
KES Kenyan shilling
KGS Som
KHR Riel
KMF Comorian franc
KPW North Korean won
KRW Won
KWD Kuwaiti dinar
KYD Cayman Islands dollar
KZT Tenge
LAK Lao kip
LBP Lebanese pound
LKR Sri Lanka rupee
LRD Liberian dollar
LSL Loti
LYD Libyan dinar
MAD Moroccan dirham
MDL Moldovan leu
MGA Malagasy ariary
MKD Denar
MMK Kyat
MNT Tugrik
MOP Pataca
MRU Ouguiya
MUR Mauritius rupee
MVR Rufiyaa
MWK Malawi kwacha
MXN Mexican peso
MXV Mexican unidad de inversion
MYR Malaysian ringgit
MZN Mozambique metical
NAD Namibia dollar
NGN Naira
NIO Cordoba oro
NOK Norwegian krone
NPR Nepalese rupee
NZD New Zealand dollar
OMR Rial omani
PAB Balboa
PEN Sol
PGK Kina
PHP Philippine peso
PKR Pakistan rupee
PLN Zloty
PYG Guarani
QAR Qatari rial
RON Romanian leu
RSD Serbian dinar
RUB Russian ruble
RWF Rwanda franc
SAR Saudi riyal
SBD Solomon Islands dollar
SCR Seychelles rupee
SDG Sudanese pound
SEK Swedish krona
SGD Singapore dollar
SHP Saint Helena pound
SLE Leone
SOS Somali shilling
SRD Surinam dollar
SSP South Sudanese pound
STN Dobra
SVC El Salvador colon
SYP Syrian pound
SZL Lilangeni
THB Baht
TJS Somoni
TMT Turkmenistan manat
TND Tunisian dinar
TOP Pa'anga
TRY Turkish lira
TTD Trinidad and Tobago dollar
TWD New Taiwan dollar
TZS Tanzanian shilling
UAH Hryvnia
UGX Uganda shilling
USD US dollar
USN US dollar, next day
UYI Uruguay peso en unidades indexadas
UYU Peso uruguayo
UYW Unidad previsional
UZS Uzbekistan sum
VED Bolivar digital
VES Bolivar soberano
VND Dong
VUV Vatu
WST Tala
XAD Arab accounting dinar
XAF CFA franc BEAC
XCD East Caribbean dollar
XCG Caribbean guilder
XDR Special drawing right
XOF CFA franc BCEAO
XPF CFP franc
XSU Sucre
XUA ADB unit of account
YER Yemeni rial
ZAR Rand
ZMW Zambian kwacha
ZWG Zimbabwe gold
`
