package campaign_test
import ("testing";"fmt";"math";"anodized/controller/campaign")
func TestDbg(t *testing.T){
 for s:=uint64(1);s<=60;s++ {
  c:=campaign.Healthy(s,surface(),campaign.Spread{OwnCalibration:true})
  p:=c.Setup.Parameters
  r,_:=campaign.Run(t.Context(),c)
  e:=r.Against().EndDensity
  if math.Abs(e)<0.03 {continue}
  fmt.Printf("%d err %.3f tick %v A%.0f ramp %.2f lim %.1f target %.0f gas %.4f lsb/I %.2f inoise/I %.3f settle %.2f hold %.0f end %.4f true %.4f zero? %v\n",s,e,c.Tick,r.Plan.Area,r.Plan.Ramp,float64(r.Plan.CurrentDensity),float64(r.Plan.TargetVolts),p.Meter.GasNoise,p.Meter.AmpereStep/float64(r.Plan.End.Current),p.Meter.AmpereNoise/float64(r.Plan.End.Current),p.Meter.Settle,*r.Result.HoldSeconds,*r.Result.EndDensity,r.AtEnd.FilmAmperes/float64(r.Plan.Area)*1000, r.Result.Findings)
 }
}
