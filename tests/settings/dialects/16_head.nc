(prepared for the corner machine)
;layerHeight_mm: 0.2
;layerHeightFirst_mm: 0.24
;traceWidth_mm: 0.45
;nozzleDiameter_mm: 0.4
;nozzleTemperature_C: 222
;nozzleTemperatureStandby_C: 165
;plateTemperature_C: 64
;filamentMaterial: petg
;wallCount: 4
;wallSpeedOuter_mm_s: 31
;wallSpeedInner_mm_s: 57
;wallSpeed_mm_s: 50
;topSolidCount: 5
;bottomSolidCount: 5
;infillAmount_pct: 21
;infillShape: lines
;infillOverlap_pct: 10
;infillSpeed_mm_s: 74
;travelSpeed_mm_s: 165
;accel_mm_s2: 1450
;retractionLength_mm: 0.95
;retractionSpeed_mm_s: 38
;liftHeight_mm: 0.2
;fanPower_pct: 55
;supportOn: 0
;supportLayerHeight_mm: 0.3
;overhangAngle_deg: 47
;brimWidth_mm: 5.5
;minLayerTime_s: 8
;layerTotal: 311
G21 G90 M83
G1 Z0.24 F600
G1 X20 Y20 F9000
G1 X80 E1.9 F1860
G1 Y80 E1.9
