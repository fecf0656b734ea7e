" Worksheets. Written by a test from the language's words and units; see
" cmd/gearleaf/editors_test.go.
if exists('b:current_syntax')
  finish
endif

syntax case match
syntax match gearleafOperator /±\|+\/-\|\.\.\|[-+*\/^<>=:|]/
syntax match gearleafName /^\s*\zs[a-z][a-z0-9_]*\ze\%(\.[a-z0-9_]*\)\?\%(\[[^]]*\]\)\?\s*[:=]/
syntax match gearleafFunction /\<[a-z][a-z0-9_]*\ze(/
syntax keyword gearleafWord and or not if then else to prev next row
syntax keyword gearleafWord range choice sd start rows until from
syntax keyword gearleafTruth yes no
syntax match gearleafStatement /^\s*\zs\%(title\|caution\|note\|section\|table\|limit\|advise\|chart\|correlate\|log\|function\|unit\|use\|gearleaf\|source\|valid\|example\)\>\ze\%(\s*[:=(.]\)\@!/
syntax match gearleafNumber /\%([A-Za-z0-9_.]\)\@<!\d\+\%(\.\d\+\)\?\%([eE][-+]\?\d\+\)\?/ nextgroup=gearleafUnit skipwhite
syntax match gearleafAs /\<as\>/ nextgroup=gearleafUnit skipwhite
syntax match gearleafUnit contained /(\?\%(deltaC\|deltaF\|events\|inH2Od\|inH2Og\|mmH2Od\|mmH2Og\|passes\|event\|galUK\|galUS\|inH2O\|inHga\|inHgd\|inHgg\|links\|mass%\|mbara\|mbard\|mbarg\|mmH2O\|mmHgd\|mmHgg\|slugs\|teeth\|tooth\|torrd\|torrg\|turns\|GPad\|GPag\|MPad\|MPag\|atmd\|atmg\|bara\|bard\|barg\|days\|degC\|degF\|degR\|floz\|hPad\|hPag\|inHg\|kPaa\|kPad\|kPag\|kmol\|kohm\|link\|mbar\|mmHg\|pass\|psia\|psid\|psig\|ptUK\|ptUS\|qtUS\|revs\|slug\|sqft\|sqin\|thou\|torr\|turn\|vol%\|AED\|AFN\|ALL\|AMD\|AOA\|ARS\|AUD\|AWG\|AZN\|BAM\|BBD\|BDT\|BHD\|BIF\|BMD\|BND\|BOB\|BOV\|BRL\|BSD\|BTN\|BWP\|BYN\|BZD\|Btu\|CAD\|CDF\|CHE\|CHF\|CHW\|CLF\|CLP\|CNY\|COP\|COU\|CRC\|CUP\|CVE\|CZK\|DJF\|DKK\|DOP\|DZD\|EGP\|ERN\|ETB\|EUR\|FJD\|FKP\|GBP\|GEL\|GHS\|GIP\|GMD\|GNF\|GPa\|GTQ\|GYD\|HKD\|HNL\|HTG\|HUF\|IDR\|ILS\|INR\|IQD\|IRR\|ISK\|JMD\|JOD\|JPY\|KES\|KGS\|KHR\|KMF\|KPW\|KRW\|KWD\|KYD\|KZT\|LAK\|LBP\|LKR\|LRD\|LSL\|LYD\|MAD\|MDL\|MGA\|MKD\|MMK\|MNT\|MOP\|MPa\|MRU\|MUR\|MVR\|MWK\|MXN\|MXV\|MYR\|MZN\|NAD\|NGN\|NIO\|NOK\|NPR\|NZD\|OMR\|PAB\|PEN\|PGK\|PHP\|PKR\|PLN\|PYG\|Pad\|Pag\|QAR\|RON\|RSD\|RUB\|RWF\|SAR\|SBD\|SCR\|SDG\|SEK\|SGD\|SHP\|SLE\|SOS\|SRD\|SSP\|STN\|SVC\|SYP\|SZL\|THB\|TJS\|TMT\|TND\|TOP\|TRY\|TTD\|TWD\|TZS\|UAH\|UGX\|USD\|USN\|UYI\|UYU\|UYW\|UZS\|VED\|VES\|VND\|VUV\|WST\|XAD\|XAF\|XCD\|XCG\|XDR\|XOF\|XPF\|XSU\|XUA\|YER\|ZAR\|ZMW\|ZWG\|atm\|bar\|day\|deg\|hPa\|kHz\|kPa\|kWh\|kgf\|lbf\|lbs\|mAh\|mil\|min\|mol\|mph\|ohm\|ppm\|psi\|rad\|rev\|rpm\|wt%\|Ah\|Hz\|MJ\|MW\|PS\|Pa\|Wh\|cc\|cm\|ft\|gn\|gr\|hp\|in\|kJ\|kN\|kV\|kW\|kg\|km\|kn\|lb\|mA\|mH\|mJ\|mL\|mV\|mg\|mi\|ml\|mm\|ms\|nF\|oz\|uF\|uH\|um\|us\|yd\|%\|1\|A\|H\|J\|K\|L\|N\|V\|W\|g\|h\|l\|m\|s\|t\)\d\?\%([./](\?\%(deltaC\|deltaF\|events\|inH2Od\|inH2Og\|mmH2Od\|mmH2Og\|passes\|event\|galUK\|galUS\|inH2O\|inHga\|inHgd\|inHgg\|links\|mass%\|mbara\|mbard\|mbarg\|mmH2O\|mmHgd\|mmHgg\|slugs\|teeth\|tooth\|torrd\|torrg\|turns\|GPad\|GPag\|MPad\|MPag\|atmd\|atmg\|bara\|bard\|barg\|days\|degC\|degF\|degR\|floz\|hPad\|hPag\|inHg\|kPaa\|kPad\|kPag\|kmol\|kohm\|link\|mbar\|mmHg\|pass\|psia\|psid\|psig\|ptUK\|ptUS\|qtUS\|revs\|slug\|sqft\|sqin\|thou\|torr\|turn\|vol%\|AED\|AFN\|ALL\|AMD\|AOA\|ARS\|AUD\|AWG\|AZN\|BAM\|BBD\|BDT\|BHD\|BIF\|BMD\|BND\|BOB\|BOV\|BRL\|BSD\|BTN\|BWP\|BYN\|BZD\|Btu\|CAD\|CDF\|CHE\|CHF\|CHW\|CLF\|CLP\|CNY\|COP\|COU\|CRC\|CUP\|CVE\|CZK\|DJF\|DKK\|DOP\|DZD\|EGP\|ERN\|ETB\|EUR\|FJD\|FKP\|GBP\|GEL\|GHS\|GIP\|GMD\|GNF\|GPa\|GTQ\|GYD\|HKD\|HNL\|HTG\|HUF\|IDR\|ILS\|INR\|IQD\|IRR\|ISK\|JMD\|JOD\|JPY\|KES\|KGS\|KHR\|KMF\|KPW\|KRW\|KWD\|KYD\|KZT\|LAK\|LBP\|LKR\|LRD\|LSL\|LYD\|MAD\|MDL\|MGA\|MKD\|MMK\|MNT\|MOP\|MPa\|MRU\|MUR\|MVR\|MWK\|MXN\|MXV\|MYR\|MZN\|NAD\|NGN\|NIO\|NOK\|NPR\|NZD\|OMR\|PAB\|PEN\|PGK\|PHP\|PKR\|PLN\|PYG\|Pad\|Pag\|QAR\|RON\|RSD\|RUB\|RWF\|SAR\|SBD\|SCR\|SDG\|SEK\|SGD\|SHP\|SLE\|SOS\|SRD\|SSP\|STN\|SVC\|SYP\|SZL\|THB\|TJS\|TMT\|TND\|TOP\|TRY\|TTD\|TWD\|TZS\|UAH\|UGX\|USD\|USN\|UYI\|UYU\|UYW\|UZS\|VED\|VES\|VND\|VUV\|WST\|XAD\|XAF\|XCD\|XCG\|XDR\|XOF\|XPF\|XSU\|XUA\|YER\|ZAR\|ZMW\|ZWG\|atm\|bar\|day\|deg\|hPa\|kHz\|kPa\|kWh\|kgf\|lbf\|lbs\|mAh\|mil\|min\|mol\|mph\|ohm\|ppm\|psi\|rad\|rev\|rpm\|wt%\|Ah\|Hz\|MJ\|MW\|PS\|Pa\|Wh\|cc\|cm\|ft\|gn\|gr\|hp\|in\|kJ\|kN\|kV\|kW\|kg\|km\|kn\|lb\|mA\|mH\|mJ\|mL\|mV\|mg\|mi\|ml\|mm\|ms\|nF\|oz\|uF\|uH\|um\|us\|yd\|%\|1\|A\|H\|J\|K\|L\|N\|V\|W\|g\|h\|l\|m\|s\|t\)\d\?)\?\)*)\?\ze\%([^A-Za-z0-9_%]\|$\)/
syntax region gearleafText start=/"/ skip=/""/ end=/"/ oneline
syntax match gearleafComment /#.*$/

highlight default link gearleafOperator Operator
highlight default link gearleafName Identifier
highlight default link gearleafFunction Function
highlight default link gearleafWord Keyword
highlight default link gearleafAs Keyword
highlight default link gearleafTruth Boolean
highlight default link gearleafStatement Statement
highlight default link gearleafNumber Number
highlight default link gearleafUnit Type
highlight default link gearleafText String
highlight default link gearleafComment Comment

let b:current_syntax = 'gearleaf'
